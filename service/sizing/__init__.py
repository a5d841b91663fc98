"""Hydraulics, crop water, parts: pure functions and models; no files, clock or farmer's words."""
