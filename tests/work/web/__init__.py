"""People with their own browsers at two sites, over HTTP alone: how they read, type, wait; what must hold."""
