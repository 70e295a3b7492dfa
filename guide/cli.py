"""Arguments and exit codes."""
