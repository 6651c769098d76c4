"""The local web pages: thin; every page calls one use-case and shows what it answers.

`application` has the routes, `security` what keeps other pages out, `worker` the one thread that
has the records open, `forms` what was typed, `recording` how a form is recorded once, `rendering`
the templates' filters. The others answer the addresses that their names say: `setting_up`,
`person`, `equipment`, `apparatus_page`, `checklists`, `samples`, `receiving`, `requested_tests`,
`bench`, `transcribing` (entries from a bench sheet), `results`, `kept_files`, `status` and `api`.
No arithmetic of the trade, no storage of its own, no outside request.
"""
