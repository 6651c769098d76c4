"""What lies beside the events: documents, kept for good, and names, which can be erased."""

from abc import ABC, abstractmethod
from contextlib import AbstractContextManager

from sqlalchemy import Connection, delete, insert, select, update

from closedcup.errors import Damaged, InputError
from closedcup.records import chain
from closedcup.records.store import Attachment
from closedcup.records.tables import attachments, people_names


class DocumentsAndNames(ABC):
    """The part of a `Store` that keeps documents and names of people."""

    @property
    @abstractmethod
    def place(self) -> str:
        """Where the records are."""

    @abstractmethod
    def reading(self) -> AbstractContextManager[Connection]:
        """Lend a connection to read with."""

    @abstractmethod
    def writing(self) -> AbstractContextManager[Connection]:
        """Lend a connection whose turn it is to write."""

    def attach(self, name: str, content: bytes) -> str:
        """Keep a document for good; see `Store.attach`."""
        sha256 = chain.digest(content)
        with self.writing() as connection:
            kept = select(attachments.c.sha256).where(attachments.c.sha256 == sha256)
            if connection.execute(kept).first() is None:
                connection.execute(
                    insert(attachments), {"sha256": sha256, "name": name, "content": content}
                )
        return sha256

    def attachment(self, sha256: str) -> Attachment:
        """Return a document as issued; see `Store.attachment`."""
        with self.reading() as connection:
            row = connection.execute(
                select(attachments).where(attachments.c.sha256 == sha256)
            ).first()
        if row is None:
            raise InputError(
                "attachment-unknown", f"No document {sha256} is kept here.", where=self.place
            )
        if not isinstance(row.content, bytes) or chain.digest(row.content) != sha256:
            raise Damaged(
                "attachment-damaged",
                f"The document “{row.name}” is no longer what was issued.",
                where=f"{self.place}, document {sha256}",
                fix="Take it from a backup.",
            )
        return Attachment(row.sha256, row.name, row.content)

    def attachments(self) -> list[str]:
        """Return the hashes of all documents, sorted."""
        with self.reading() as connection:
            return sorted(connection.execute(select(attachments.c.sha256)).scalars())

    def names(self) -> dict[str, str]:
        """Return person id → name."""
        with self.reading() as connection:
            rows = connection.execute(select(people_names).order_by(people_names.c.person))
            return {row.person: row.name for row in rows}

    def set_name(self, person: str, name: str) -> None:
        """Give a person a name, or another one."""
        with self.writing() as connection:
            changed = connection.execute(
                update(people_names).where(people_names.c.person == person).values(name=name)
            )
            if changed.rowcount == 0:
                connection.execute(insert(people_names), {"person": person, "name": name})

    def erase_name(self, person: str) -> None:
        """Erase a person's name; the id in the events stays."""
        with self.writing() as connection:
            connection.execute(delete(people_names).where(people_names.c.person == person))
