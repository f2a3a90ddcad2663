"""SessionResult -> sentences, charts, a page, stills and tables."""
