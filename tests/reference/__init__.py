"""A second, plain program for the same findings, and a maker of varied recordings to try both on.

Written apart from `balance`, from the definitions alone: slow, literal, without any of its code, and with
numerical differentiation in place of its analytic derivatives.
"""
