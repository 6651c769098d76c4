"""The local web pages: thin; every page calls one use-case and shows what it answers.

`application` has the routes, `security` what keeps other pages out, `worker` the one thread that
has the records open, `forms` what was typed, `recording` how a form is recorded once, `rendering`
the templates' filters, `sessions` who is signed in, `serving` the server. The others answer the
addresses that their names say; those named `api` or `…_api` answer programs (`/api/…`).
No arithmetic of the trade, no storage of its own, no outside request.
"""
