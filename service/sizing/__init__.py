"""Hydraulics, crop water, parts: pure functions and models; no files, clock or words for a farmer."""
