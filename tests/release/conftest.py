"""What a maintainer runs before a release: commands of their own."""

collect_ignore = ["check_release.py", "pin.py"]
