"""Plans, which studies are worth a page, and in which order."""
