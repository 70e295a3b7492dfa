"""Work in bulk: many simulated jobs, very large tables. The only part that uses numpy; imported on demand."""
