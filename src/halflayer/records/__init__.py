"""What is kept: orders and their plans in a database, saved whole or not at all (`store.save`)."""
