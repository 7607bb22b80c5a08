"""From RS-274 text to motions, by the standard alone. Shares no code with dialects."""
