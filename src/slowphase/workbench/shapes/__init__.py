"""What goes over the wire: one module a subject; the page's types are made from these."""
