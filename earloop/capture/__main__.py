"""`python -m earloop.capture`: started by the client, never by hand."""

from earloop.capture.process import main

main()
