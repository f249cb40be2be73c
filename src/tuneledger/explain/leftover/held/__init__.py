"""A number at which the ECU holds the advance: a highest, a lowest, or a fixed one.

What a correction adds moves with what was asked for; what holds does not. Delivered stands at one
number while scheduled, with all else that acts, goes ever further beyond it, and follows again as
soon as that comes back. A highest and a lowest advance speak only of what lies beyond them; a fixed
one takes the place of everything.
"""
