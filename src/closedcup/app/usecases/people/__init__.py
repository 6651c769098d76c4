"""People: accounts, signing in, signing, authorisation, what the laboratory asks of them."""
