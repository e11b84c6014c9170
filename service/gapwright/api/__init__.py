"""HTTP: the application, its routes, wire forms and problems."""
