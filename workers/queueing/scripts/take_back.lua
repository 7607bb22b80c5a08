-- An owner gives up a file. Returns 0 if it had none.
return take_back(a.owner, a.digest)
