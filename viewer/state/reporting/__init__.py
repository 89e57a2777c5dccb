"""What is entered for a report, its pages, and the making of documents and packs."""
