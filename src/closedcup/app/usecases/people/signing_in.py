"""Sign in, prove again who one is, come back with a session, leave.

A session is known by the hash of its token; the token is with its bearer only. What is said to
somebody who fails is the same whether there is no such account, it is locked or disabled, or the
password is wrong; and it takes the same time.
"""

import hashlib
import secrets
from datetime import UTC, datetime

from closedcup.app.opening import OpenLaboratory
from closedcup.app.usecases.people import passwords
from closedcup.errors import Refused
from closedcup.records.access import Credential, SessionRow, SignIn
from closedcup.records.access_rules import access_rules


def sign_in(
    opened: OpenLaboratory, person: str, password: str, *, new_password: str = "", ends: str = ""
) -> str:
    """Begin a session and act for the person from now on; return the session's token.

    A password given by somebody else is replaced by `new_password`, which it then needs.
    `ends` is the token of an earlier session at the same place: it ends, whosever it was.
    """
    prove(opened, person, password)
    credential = _credential(opened, person)
    if credential.temporary and not new_password:
        raise Refused(
            "new-password-needed",
            "This password was given to you: choose one of your own.",
            where="new password",
            fix="Type the one that was given to you once more, and a new one.",
        )
    if new_password:
        _replace(opened, credential, password, new_password)
        opened.store.access.end_sessions(person)
    elif passwords.is_outdated(credential.password_hash):
        _keep(opened, person, password)
    sign_out(opened, ends)
    token, now = secrets.token_urlsafe(access_rules().token_bytes), _utc(opened.clock())
    opened.store.access.begin_session(
        SessionRow(_digest(token), person, now, now),
        drop_before=_utc(opened.clock() - access_rules().longest),
    )
    opened.by, opened.signed_in = person, True
    if new_password:
        opened.record("password-changed", person, {"person": person, "recovered": False})
    return token


def prove(opened: OpenLaboratory, person: str, password: str) -> None:
    """Raise Refused unless the password is the person's, and the account may be used now.

    After a few failures the account is locked for a while; each attempt is written down.
    """
    rules, moment = access_rules(), opened.clock()
    now, access = _utc(moment), opened.store.access
    may_try = access.begin_attempt(
        person, now, most=rules.failures_until_locked, locked_until=_utc(moment + rules.locked)
    )
    credential = access.credential(person)
    right = passwords.matches(None if credential is None else credential.password_hash, password)
    if credential is not None and credential.temporary:
        right = right and credential.changed_at >= _utc(moment - rules.temporary)
    if right and may_try and opened.may_sign_in(person):
        access.succeeded(person)
        access.note(SignIn(now, person, "right password"))
        return
    locked = credential is not None and credential.locked_until > now
    outcome = "refused, locked" if locked else "refused"
    access.note(SignIn(now, "" if credential is None else person, outcome))
    raise Refused(
        "sign-in-refused",
        "This id and this password do not let you in.",
        where="account",
        fix=f"Type both again. After {rules.failures_until_locked} failures an account is locked "
        f"for {rules.locked_minutes} min; a quality lead can give a new password.",
    )


def resume(opened: OpenLaboratory, token: str) -> bool:
    """Act for the person of a session, if it lasts still; return whether it does."""
    opened.signed_in = False
    session = opened.store.access.session(_digest(token)) if token else None
    if session is None:
        return False
    rules, moment = access_rules(), opened.clock()
    lasts = session.begun_at > _utc(moment - rules.longest)
    used = session.seen_at > _utc(moment - rules.idle)
    if not (lasts and used and opened.may_sign_in(session.person)):
        opened.store.access.end_session(session.token_sha256)
        return False
    if session.seen_at <= _utc(moment - rules.seen_every):
        opened.store.access.seen(session.token_sha256, _utc(moment))
    opened.by, opened.signed_in = session.person, True
    return True


def sign_out(opened: OpenLaboratory, token: str) -> None:
    """End a session."""
    if token:
        opened.store.access.end_session(_digest(token))
    opened.signed_in = False


def change_password(opened: OpenLaboratory, token: str, password: str, new_password: str) -> None:
    """Replace one's own password; one's sessions elsewhere end."""
    opened.permit("password-changed")
    prove(opened, opened.by, password)
    _replace(opened, _credential(opened, opened.by), password, new_password)
    opened.store.access.end_sessions(opened.by, but=_digest(token))
    opened.record("password-changed", opened.by, {"person": opened.by, "recovered": False})


def _replace(opened: OpenLaboratory, earlier: Credential, password: str, new: str) -> None:
    passwords.refuse_weak(new, known=known_words(opened, earlier.person))
    if new == password:
        raise Refused(
            "password-the-same",
            "The new password is the one you have.",
            where="new password",
            fix="Choose another.",
        )
    _keep(opened, earlier.person, new)


def _keep(opened: OpenLaboratory, person: str, password: str) -> None:
    kept = Credential(person, passwords.hash_of(password), _utc(opened.clock()))
    opened.store.access.set_password(kept)


def known_words(opened: OpenLaboratory, person: str) -> tuple[str, ...]:
    """Return words that anybody would try as a person's password."""
    site = opened.named_site
    return (person, opened.name_of(person), "" if site is None else site.name)


def _credential(opened: OpenLaboratory, person: str) -> Credential:
    credential = opened.store.access.credential(person)
    if credential is None:  # it was there a moment ago, and credentials are never deleted
        raise Refused("credential-gone", "There is no password for this account.", where="account")
    return credential


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _utc(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
