"""Stage 10: every session, pull and finding is kept, found again, and handed on as evidence."""
