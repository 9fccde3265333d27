"""What was written, and the facts that follow from it: a pure fold from entries to the ledger."""
