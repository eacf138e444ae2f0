"""What answers hold: frozen schemas, and the contract of the JSON that is printed and saved."""
