"""Lists of sign-offs given elsewhere that wait for one's signature as the second person."""
