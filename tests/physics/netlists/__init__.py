"""Board sections of our own, solved in ngspice. Needed only to make their tables again; the tests read the tables."""
