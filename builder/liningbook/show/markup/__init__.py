"""What paper and screen share: templates, styles, tables."""
