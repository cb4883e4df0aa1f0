"""How rows of a file are read as people: whom they are about, and what they say of them."""
