"""An independently written model of cloth and passes for a scenario file.

Written from the statement of the problem alone: its own reading of lengths, its own boxes, areas of boards,
margins and sizes of plies, its own integer program, solved by a general-purpose solver. It shares no code with the
program that it checks. It covers what the demo scenarios use and refuses anything else by name.
"""
