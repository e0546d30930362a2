"""The options that several commands share, a module for each heading of their help.

A parameter is called as the field of the options that it fills, so that `gather` finds it.
"""
