"""From what is known of a printer to what shows: conditions, tables, and the one matcher."""
