"""The tank: heights and volumes, shapes, the outlet's heel, and what a level sensor means. Pure."""
