"""What is bought: options, builds, supplies, prices, the bill, and when it comes."""
