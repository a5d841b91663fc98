"""Every setting of a deployment: name, default and one line of meaning, in one table."""
