"""The rules desk: pages on which rule sets are read, compared, and tried on a job."""
