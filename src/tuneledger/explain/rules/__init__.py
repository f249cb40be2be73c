"""Rules read out of a log: which channels, which thresholds, how many degrees.

No generic tree. What is left over is split into rows where something acts and rows where nothing
does; every channel offers the tightest condition that holds wherever something acts; the fewest
conditions that together exclude all other rows are a rule. In a run where everything rises together
many channels offer the same, and then all of them are shown.
"""
