"""Rows of a logbook: what each table holds, what a value must look like, and what rows say of each other."""
