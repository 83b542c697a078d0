"""The tables.

Rows that tell what happened (saves, readings, issued sets, the log) are only ever added. Times are UTC.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, ClassVar

from sqlalchemy import (
    JSON,
    DateTime,
    Dialect,
    ForeignKey,
    Index,
    LargeBinary,
    MetaData,
    String,
    Text,
    TypeDecorator,
    UniqueConstraint,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

NAMES = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
"""Names of constraints, so that a migration can name what it changes on every database."""


class Moment(TypeDecorator[datetime]):
    """A moment in UTC; SQLite keeps no zone, so it is put back when read."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To the database."""
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """From the database."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Base(DeclarativeBase):
    """Base of all tables."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map: ClassVar[dict[Any, Any]] = {datetime: Moment, dict[str, Any]: JSON}


class JobRow(Base):
    """A job: what it is called in lists, and which save of it stands.

    Attributes:
        head: Number of the save that stands; grows with each save, the lock against lost edits.
    """

    __tablename__ = "job"
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(400), index=True)
    number: Mapped[str] = mapped_column(String(400), default="")
    revision: Mapped[str] = mapped_column(String(8), default="A")
    head: Mapped[int] = mapped_column(default=0)
    archived: Mapped[bool] = mapped_column(default=False, index=True)
    made_at: Mapped[datetime]
    saved_at: Mapped[datetime] = mapped_column(index=True)
    saved_by: Mapped[str] = mapped_column(String(200))


class SaveRow(Base):
    """One save of a job's text; never changed.

    Attributes:
        number: 1, 2, 3 ... within the job.
        said: What was changed, in words.
        undoes: Number of the save this one takes back, if it does.
    """

    __tablename__ = "save"
    __table_args__ = (UniqueConstraint("job_id", "number"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    number: Mapped[int]
    text: Mapped[str] = mapped_column(Text)
    sha256: Mapped[str] = mapped_column(String(64), index=True)
    said: Mapped[str] = mapped_column(String(400), default="")
    undoes: Mapped[int | None]
    made_at: Mapped[datetime]
    made_by: Mapped[str] = mapped_column(String(200))


class IssuedRow(Base):
    """A package as issued; never changed.

    Attributes:
        revision: As the job calls it.
        sha256: Of the manifest.
        content: The whole folder as a zip file.
    """

    __tablename__ = "issued"
    __table_args__ = (UniqueConstraint("job_id", "revision"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    save_number: Mapped[int]
    revision: Mapped[str] = mapped_column(String(8))
    sha256: Mapped[str] = mapped_column(String(64))
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    said: Mapped[str] = mapped_column(String(400), default="")
    made_at: Mapped[datetime]
    made_by: Mapped[str] = mapped_column(String(200))


class RemarkRow(Base):
    """What somebody said about a save; never changed."""

    __tablename__ = "remark"
    __table_args__ = (Index("ix_remark_job_id_save_number", "job_id", "save_number"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    save_number: Mapped[int]
    text: Mapped[str] = mapped_column(Text)
    made_at: Mapped[datetime]
    made_by: Mapped[str] = mapped_column(String(200))


class ReadingRow(Base):
    """One entry of the check-out's log as a device sent it; never changed.

    Attributes:
        id: Made by the device, so that an entry sent twice is stored once.
        entry: The whole entry.
    """

    __tablename__ = "reading"
    __table_args__ = (Index("ix_reading_job_id_probe", "job_id", "probe"),)
    id: Mapped[str] = mapped_column(String(64), primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"))
    probe: Mapped[str] = mapped_column(String(300))
    device: Mapped[str] = mapped_column(String(64))
    entry: Mapped[dict[str, Any]]
    received_at: Mapped[datetime]
    received_by: Mapped[str] = mapped_column(String(200))


class AttachmentRow(Base):
    """A file that belongs to a job (its weather), or one that somebody is about to import.

    Attributes:
        job_id: The job; None for a file that waits to be imported.
        kind: ``weather`` or ``upload``.
        name: As the person's computer called it; only ever shown.
    """

    __tablename__ = "attachment"
    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012  a number never means another file
    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"), index=True)
    kind: Mapped[str] = mapped_column(String(20))
    name: Mapped[str] = mapped_column(String(200))
    sha256: Mapped[str] = mapped_column(String(64))
    content: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    made_at: Mapped[datetime]
    made_by: Mapped[str] = mapped_column(String(200))


class PersonRow(Base):
    """Somebody with an account."""

    __tablename__ = "person"
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(200), unique=True)
    password: Mapped[str] = mapped_column(String(400))
    role: Mapped[str] = mapped_column(String(20))
    active: Mapped[bool] = mapped_column(default=True)
    epoch: Mapped[int] = mapped_column(default=0)
    """Grows when all sign-ins of the person end: new password, deactivated."""
    made_at: Mapped[datetime]


class TokenRow(Base):
    """A token of a person for the interface; only its hash is kept."""

    __tablename__ = "token"
    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    label: Mapped[str] = mapped_column(String(200))
    sha256: Mapped[str] = mapped_column(String(64), unique=True)
    made_at: Mapped[datetime]
    used_at: Mapped[datetime | None]
    revoked_at: Mapped[datetime | None]


class LinkRow(Base):
    """A link that opens one job to an installer."""

    __tablename__ = "link"
    id: Mapped[int] = mapped_column(primary_key=True)
    job_id: Mapped[int] = mapped_column(ForeignKey("job.id"), index=True)
    label: Mapped[str] = mapped_column(String(200))
    made_at: Mapped[datetime]
    made_by: Mapped[str] = mapped_column(String(200))
    ends_at: Mapped[datetime]
    revoked_at: Mapped[datetime | None]


class SessionRow(Base):
    """Somebody who is signed in on one browser; the browser holds the secret, here is its hash only.

    Attributes:
        id: SHA-256 of the secret.
        person_id: Whose account, when they signed in with one.
        link_id: The installer's link they came by, when they came by one.
        name: As it stands in logs.
        epoch: The account's epoch at the sign-in.
        ended_at: When they signed out.
    """

    __tablename__ = "session"
    id: Mapped[str] = mapped_column(String(64), primary_key=True)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"), index=True)
    link_id: Mapped[int | None] = mapped_column(ForeignKey("link.id"), index=True)
    name: Mapped[str] = mapped_column(String(200))
    epoch: Mapped[int] = mapped_column(default=0)
    made_at: Mapped[datetime]
    ends_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class SignInRow(Base):
    """A sign-in that failed, for the limit on tries."""

    __tablename__ = "sign_in"
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(200), index=True)
    address: Mapped[str] = mapped_column(String(64), index=True)
    at: Mapped[datetime] = mapped_column(index=True)


class LogRow(Base):
    """The audit log: who did what; never changed."""

    __tablename__ = "log"
    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(index=True)
    who: Mapped[str] = mapped_column(String(200))
    did: Mapped[str] = mapped_column(String(60))
    job_id: Mapped[int | None] = mapped_column(ForeignKey("job.id"), index=True)
    detail: Mapped[dict[str, Any]]


class SettingRow(Base):
    """Settings of the installation: the key that signs cookies and links."""

    __tablename__ = "setting"
    name: Mapped[str] = mapped_column(String(60), primary_key=True)
    value: Mapped[str] = mapped_column(Text)
