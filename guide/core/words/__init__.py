"""What people say and type, and what it means: amounts, units, phrases, the recogniser's vocabulary."""
