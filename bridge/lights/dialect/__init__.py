"""How one kind of controller speaks: looks to requests, and answers back to looks."""
