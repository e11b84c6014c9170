"""The pages of rule sets: pages on which rule sets are read, compared, and tried on a job."""
