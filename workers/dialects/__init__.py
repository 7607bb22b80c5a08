"""From cut paths to RS-274 text. Shares no code with interpretation."""
