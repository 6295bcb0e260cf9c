"""From readings to verdicts, likely faults and the next reading worth taking."""
