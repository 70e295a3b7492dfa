"""How well it hears: a report by voice, noise and SNR."""
