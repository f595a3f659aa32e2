"""Arithmetic on doses that the clinic's lead approved; what is asked, watched and told around an injection.

Nothing here advises: it checks that numbers follow from an approved rule. Local protocol and licensed staff
decide.
"""
