"""Weeks that are written once: a part has one week and says what changes in it from week to week."""
