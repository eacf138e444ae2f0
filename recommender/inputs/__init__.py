"""What is asked and what there is: case and catalogue, validated, frozen, SI inside."""
