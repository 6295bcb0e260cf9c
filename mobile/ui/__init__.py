"""What the toolkit shows: app, screens, widgets."""
