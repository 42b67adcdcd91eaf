"""What paper does: which sides share a piece of it, how it goes through the printer, folds, opens and is turned."""
