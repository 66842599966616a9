"""The checks: what to ask of the person, when a try is complete, and what the readings say.

Nothing is imported here: the window draws outcomes (`types`) long before it needs the measures.
"""
