"""What is known of a printer: vocabulary, truth, readers, freshness."""
