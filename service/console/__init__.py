"""The pages in a browser: so far one, a plain handset on which to hold a conversation."""

from service.console.handset import Handset, handset_blueprint

__all__ = ["Handset", "handset_blueprint"]
