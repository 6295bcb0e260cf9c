"""The circuit: conductors, batteries, the charger, and the whole loop's operating point."""
