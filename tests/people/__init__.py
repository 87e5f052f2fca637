"""Tests of the people room."""
