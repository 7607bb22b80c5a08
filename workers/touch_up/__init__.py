"""Changes a person makes to a drawing by hand: on ink coverage and on outlines alike."""
