"""What each address answers."""
