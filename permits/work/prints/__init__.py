"""Permits on paper: the form that carries on when the server is down."""
