"""Connected instruments: a bench meter that speaks SCPI, and a supply that is read and never switched."""
