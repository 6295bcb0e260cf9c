"""The workshop desk's command line."""
