"""Reminders and seasonal messages: who is told what, given the moment; the outbox sends it."""

from service.outreach.estimate import Estimate
from service.outreach.follow_ups import FollowUps
from service.outreach.places import Place, Places, decent_hours
from service.outreach.reminders import Reminders, Scan
from service.outreach.schedule import WeeklyTime
from service.outreach.seasonal import Preview, Progress, Seasonal, Wait
from service.outreach.seasonal_texts import TextCheck, check_texts, sound
from service.outreach.seasonal_words import LEFT_OUT

__all__ = [
    "LEFT_OUT",
    "Estimate",
    "FollowUps",
    "Place",
    "Places",
    "Preview",
    "Progress",
    "Reminders",
    "Scan",
    "Seasonal",
    "TextCheck",
    "Wait",
    "WeeklyTime",
    "check_texts",
    "decent_hours",
    "sound",
]
