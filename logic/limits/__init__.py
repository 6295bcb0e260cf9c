"""What a reading should be on this very vehicle, and how a reading stands against it."""
