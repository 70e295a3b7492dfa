"""What each command does; every import that costs time happens here, when its command runs."""
