"""Looking back: past looks, makes and wheels, and what is learnt from them."""
