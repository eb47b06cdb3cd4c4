"""What a person measures at the rig, made into numbers with honest spreads: strapping, K-factor, level, draw. Pure."""
