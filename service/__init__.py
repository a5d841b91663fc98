"""Litreline: advice by short message for small gravity-fed drip plots."""
