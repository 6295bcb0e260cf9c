"""The demo, its tour and the set-up of a fresh machine; not packed for the phone."""
