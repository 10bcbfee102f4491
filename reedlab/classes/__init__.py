"""One question for a whole class: the plan handed out, and what a pupil hands in."""
