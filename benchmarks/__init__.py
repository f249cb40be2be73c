"""What is measured, outside the package: accuracy and speed on cases with known truth; a peer."""
