"""A procedure looked through for its author: everything that is wrong or looks wrong, a row each.

What cannot be loaded is an error (`procedure.check` and the models tell it); the modules here look at what
loads. Each finder is a small function from what was read to findings; `table.FINDERS` lists them.
"""
