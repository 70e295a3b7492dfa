"""The bench's ears and voice. Nothing here is imported until voice is asked for; libraries load in constructors."""
