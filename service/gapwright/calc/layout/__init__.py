"""Layout: from the modules of a roof plane to every piece of channel, overlap, tab and return."""
