"""What a Saturday does to a server, in ratios to an empty page of the same run.

``make load`` (``python -m tests.load``) makes the demo band in a PostgreSQL of its own, starts the
web server as ``deploy/gunicorn.conf.py`` says, and on this machine alone: lets phones open their
cards after a publication while prints are made and lineups solved, lets sixty people mark
attendance at once, and reads pages of bands of 1,000 and 5,000 members. ``--against HEAD~1`` does
the phones again with the code of another commit.
"""
