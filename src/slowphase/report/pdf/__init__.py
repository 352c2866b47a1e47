"""The report page typeset as a PDF: read into blocks, checked for glyphs, laid out by typst."""
