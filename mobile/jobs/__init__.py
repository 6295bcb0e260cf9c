"""What the screens say and do, worked out without the toolkit."""
