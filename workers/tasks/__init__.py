"""Celery's side: takes a job's next step, runs it, stores what it left."""
