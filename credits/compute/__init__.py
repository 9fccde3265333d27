"""What follows from the ledger: pure, exact functions from frozen values to frozen values."""
