"""An invented season of an invented smokehouse, to look at before one's own begins."""
