"""Self-contained HTML pages with pictures drawn as SVG; no script, nothing fetched."""
