"""What the API's resources share: who may ask (``access``, ``tokens``), how lists and writes are
answered (``resources``, ``writing``), and how it says what is wrong (``problems``).

Table: ApiToken. A room brings its resources in ``api`` and their addresses in ``api_urls``.
"""
