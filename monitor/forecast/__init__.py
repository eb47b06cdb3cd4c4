"""What will happen: the crew's habits, the time until the water reaches the heel, and what to do about it."""
