"""Public rain records near a place, from the network: only here, and only when asked.

::

    candidates_near ──> Candidate ──> fetch_record ──> a Parquet file and its RainRecord
          │                                │
          └─────── Source.near             └── Source.year, one year after the other, each kept

A source is a small class with two methods, `near` and `year`; `find` asks all of them at once and
`keep` puts the years together.
"""
