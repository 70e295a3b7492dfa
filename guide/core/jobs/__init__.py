"""One job: its events, the fold over them, what may happen next, and what is said about it."""
