"""Start-up checks of the records."""
