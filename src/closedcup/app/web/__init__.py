"""The local web pages: thin; every page calls one use-case and shows what it answers.

`application` has the routes, `security` what keeps other pages out, `worker` the one thread that
has the records open, `forms` what was typed, `rendering` the templates' filters; `recording`
how a form is recorded once; `setting_up`, `person`, `equipment`, `apparatus_page`, `checklists`,
`samples`, `receiving`, `requested_tests`, `bench`, `results`, `status` and `api` answer the
addresses that their names say. No arithmetic of
the trade, no storage of its own, no outside request.
"""
