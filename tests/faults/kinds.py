"""The kinds of bad days that the campaign has, by the name under which they are counted."""

from campaign import Day
from days import files, links, phones, servers

KINDS: dict[str, Day] = {
    "server killed in sync": servers.killed,
    "link cut after some bytes, either way": links.cut,
    "replies lost, batches sent again": links.lost_replies,
    "clocks wrong and jumping, simulated phones": links.clocks,
    "lines by file, brought anyhow": files.carried,
    "50 phones at once": servers.fifty_phones,
    "disk full": servers.full_disk,
    "database read-only": servers.read_only,
    "PostgreSQL restarted": servers.restarted_postgresql,
    "browser killed in mid-case": phones.killed,
    "two tabs": phones.two_tabs,
    "phone's storage full": phones.full,
    "phone's storage evicted": phones.evicted,
    "phone's clock set in mid-case": phones.clock_set,
    "newer app in mid-case": phones.newer_app,
}
