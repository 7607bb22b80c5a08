"""Files in, safely decoded: photos, two-tone pictures, SVG drawings."""
