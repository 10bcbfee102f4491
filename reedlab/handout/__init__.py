"""What a player takes along: the sheet for the music stand, labels for the case, the plan as a calendar.

Pure: plans in, text out. `reedlab.errands.papers` reads the logbook and writes the files.
"""
