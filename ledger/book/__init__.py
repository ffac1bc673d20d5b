"""The book: append entries, read them back, search them. The only writer of the database.

`tables` names what is kept and what is derived; `triggers` makes the kept tables append-only;
`engine` opens SQLite or PostgreSQL the one safe way; `pages` appends; `projections` derives;
`reading` looks things up; `verifying` audits all of it.
"""
