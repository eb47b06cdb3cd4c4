"""The water balance: what flows in, what the level says, who draws, and how far each signal can be trusted."""
