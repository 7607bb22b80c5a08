"""The job store, the broker and the artifacts: what is promised is kept here."""
