"""What each command takes; what it does is in `guide.commands`, imported when it runs."""
