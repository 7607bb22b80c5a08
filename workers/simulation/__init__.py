"""From motions and bits to the depth that is left, and the time it takes."""
