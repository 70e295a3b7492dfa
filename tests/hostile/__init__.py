"""Files made to harm or by accident, and the process that takes them, held to two seconds and 200 MB."""
