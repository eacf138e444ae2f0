"""Why an option is not the choice, in numbers and in words."""
