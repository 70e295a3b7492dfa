"""The edges: files, disk, sound, terminals and instruments. No edge imports another."""
