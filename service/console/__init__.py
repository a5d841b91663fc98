"""The pages in a browser: two plain handsets on which to hold a conversation, and the desk."""

from service.console.handset import Handset, TextLine, handset_blueprint

__all__ = ["Handset", "TextLine", "handset_blueprint"]
