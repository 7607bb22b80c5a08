"""The gates of a proof: each looks at the evidence for one kind of fault."""
