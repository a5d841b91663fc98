"""Catalogues, numbers by locale, counting of septets, paging, and reading what people type."""
