"""Templates and plates to PDF. The only room that knows jinja2 and weasyprint."""
