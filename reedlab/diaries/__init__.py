"""A diary as it is: any table of reeds played, matched column by column and word by word to what a logbook holds. Pure.

`grid` holds the cells as they came, `guess` matches them as well as it can, `matching` is what the player said,
`understand` reads the rows with it and tells what is odd. Files are the business of `reedlab.logbook.diary_files`.
"""
