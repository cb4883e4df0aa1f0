"""Forms that are sent: twice counts once, and nobody writes over what they have not seen.

``once`` keeps the key of what was sent in the transaction of what it did; ``meanwhile`` asks the
audit what others have changed of the same rows since the page was opened; ``guarding`` puts both
around the actions of a request. Table: SentForm.
"""
