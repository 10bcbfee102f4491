"""The disk and the clock: where things are, files written whole, what day it is."""
