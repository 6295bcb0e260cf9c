"""What is fitted to one vehicle, where a meter goes, and how well it reads."""
