"""The full-screen bench. Imported only where a screen is used: what is under here may import prompt_toolkit."""
