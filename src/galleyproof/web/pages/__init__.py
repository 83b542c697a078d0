"""One module a page; each with its ``routes``, each route with its rule."""
