"""What to log next: the drive that tells most about the explanations that remain.

Sequential diagnosis (J. de Kleer and B. C. Williams, "Diagnosing multiple faults", Artificial
Intelligence 32, 1987): of all measurements that can be made, take the one after which the fewest
doubts are to be expected. Here a measurement is a stretch of another log, with what a driver can
set: switches, a gear, engine speed at light throttle, an engine that is still cold. The rules that
a log cannot tell apart, or the revisions, say what delivered would do there.

Nothing is asked for that could hurt: no load, no heat, no high speed, no hand on a guard.
"""
