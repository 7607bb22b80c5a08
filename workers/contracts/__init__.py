"""What a plug-in offers: one protocol a file, one method each."""
