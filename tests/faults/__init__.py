"""What happens when a process, a server, a database or a broker dies at any point.

``killing`` runs one action in a process that kills itself before its n-th statement to the
database, on a copy of a band that was made for this point; then the action is sent again, as a
browser or a program sends it, and the whole database is compared with one in which nothing died.
Points are drawn with a seed (``FAULT_SEED``; ``LONG=yes`` tries all of them). The run ends with a
line of counts.
"""
