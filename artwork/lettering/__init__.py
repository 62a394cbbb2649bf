"""Text as carveable outlines: typefaces, shaping, rules of fit, personalised runs."""
