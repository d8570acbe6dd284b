"""`python -m earloop.engine`: started by the client, never by hand."""

from earloop.engine.process import main

main()
