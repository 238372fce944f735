"""Figures that one app keeps to and that others say: the handbook names them, and imports point down."""

PHONE_DAYS_BEHIND, PHONE_DAYS_AHEAD = 3, 6  # visits that a phone keeps, besides today
PHONE_SENT_DAYS = 30  # for which a phone keeps what it sent; static/js/logic/queue.js keeps to it
SHEET_MOST_MB, SHEET_MOST_ROWS = 20, 60_000  # of a spreadsheet that is taken in
