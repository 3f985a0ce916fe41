"""`python -m halflayer`: the same door as the program `halflayer`."""

from halflayer.cli import main

main()
