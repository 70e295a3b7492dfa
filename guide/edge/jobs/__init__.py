"""Jobs on disk: the store and its upgrades, the lock on a job, a job as one document."""
