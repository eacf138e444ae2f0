"""Where stations and sections go: tables of what is asked, and a constraint model over them."""
