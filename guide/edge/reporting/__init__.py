"""Reports as HTML and PDF. Imported on demand: Jinja2 and typst come with the `report` extra."""
