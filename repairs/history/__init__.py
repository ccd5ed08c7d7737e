"""A property's history: what it tells, as a diary for the page and as a dossier for the PDF."""
