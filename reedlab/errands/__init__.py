"""The few verbs that join the rooms: read a trial or a diary, write papers, take a class a step on."""
