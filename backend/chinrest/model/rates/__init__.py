"""Rates of rare events and their charts: pure statistics of counts that somebody else took from the log.

Everything here assumes that procedures are independent of each other. Patients who come again are not, so
true intervals are somewhat wider than these; whoever shows a figure says so beside it.
"""
