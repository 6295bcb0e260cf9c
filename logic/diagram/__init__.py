"""The one drawing of the circuit as plain data: painters put it on a screen or on paper."""
