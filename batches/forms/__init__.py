"""What people type, checked before it is recorded."""
