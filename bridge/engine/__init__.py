"""Where the stages meet: events and instants in, actions out."""
