"""What all forms share: the logbook of the folder, single controls, messages, style."""
