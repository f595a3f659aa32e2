"""What travels of people: their own account, invitations, and the admin's page."""

from msgspec import Struct

from chinrest.store.rows import Role


class SignInRequest(Struct, frozen=True, kw_only=True):
    """`code`: of the authenticator, or a recovery code; empty until it is asked for."""

    name: str
    password: str
    code: str = ""


class Person(Struct, frozen=True, kw_only=True):
    """`site` (and its name): all that they see and change is of it; null for all sites."""

    id: str
    name: str
    role: Role
    site: str | None
    site_name: str | None


class OwnAccount(Struct, frozen=True, kw_only=True):
    """`recovery_left`: how many recovery codes were not used yet."""

    second_factor: bool
    recovery_left: int


class PasswordRequest(Struct, frozen=True, kw_only=True):
    old: str
    new: str


class SecondFactorRequest(Struct, frozen=True, kw_only=True):
    password: str


class SecondFactorSecret(Struct, frozen=True, kw_only=True):
    """For an authenticator to scan (`address`) or for hands to type (`secret`, in base32). Shown once."""

    address: str
    secret: str


class ConfirmRequest(Struct, frozen=True, kw_only=True):
    code: str


class RecoveryCodes(Struct, frozen=True, kw_only=True):
    """Each stands once for a code of the authenticator. Shown once, and kept only as hashes."""

    codes: list[str]


class SecondFactorOffRequest(Struct, frozen=True, kw_only=True):
    password: str
    code: str


class AccountRow(Struct, frozen=True, kw_only=True):
    """Somebody who may sign in. `site`: all that they see and change is of it; null for all sites. `joined`:
    they have a password. `invited_until`: of an invitation that was not used; it may have run out."""

    id: str
    name: str
    role: Role
    site: str | None
    made_at: int
    joined: bool
    last_sign_in_at: int | None
    withdrawn_at: int | None
    invited_until: int | None
    second_factor: bool


class InviteRequest(Struct, frozen=True, kw_only=True):
    name: str
    role: Role
    site: str | None


class InvitationLink(Struct, frozen=True, kw_only=True):
    """`url` carries its secret in its fragment, which no server log sees. Shown once, good once."""

    staff: str
    url: str
    expires_at: int


class AccountRequest(Struct, frozen=True, kw_only=True):
    role: Role
    site: str | None


class InvitationRequest(Struct, frozen=True, kw_only=True):
    token: str


class InvitationPerson(Struct, frozen=True, kw_only=True):
    """Whose an open invitation is."""

    name: str
    role: Role
    expires_at: int


class JoinRequest(Struct, frozen=True, kw_only=True):
    token: str
    password: str
