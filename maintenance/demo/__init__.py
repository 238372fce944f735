"""An invented firm in an invented place, made by a seeded simulation. Nobody and nothing in it exists."""
