"""From a photo to ink coverage at a known scale: sheet, perspective, light, two tones."""
