"""What a scene looks like: effects to frames, colours, terminal drawing."""
