"""The exchange file between phones and desk."""
