"""The typed words: what may be asked, and what is answered. Imports pydantic and nothing of ours."""
