"""One writer a format: PDF, Markdown, plain text, JSON, HTML."""
