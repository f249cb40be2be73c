"""How far every cell of the map can be moved: the lowest and highest advance that can come out.

    factors      numbers over cells and over the choices of a few variables; how choices are made
    quantities   what a reading is made of, and what each quantity can be
    space        every quantity cut where a table or a condition changes: a short list of choices
    truths       conditions over those choices, with their memory
    terms        corrections over those choices
    settle       the effects in their order, and the best and worst choice in every cell
    reach        a sheet's reach

docs/reach.md says why a short list of choices is enough, and where it is not.
"""
