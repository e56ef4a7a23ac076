"""Sites, people and prices of our own invention, and the rain that falls on them."""
