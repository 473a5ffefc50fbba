"""The keys the demo is posted with."""

from collections.abc import Mapping

import msgspec

from seed.delivery import Delivery


class Keys(msgspec.Struct, frozen=True, kw_only=True):
    """Keys in plain text, as they were shown once.

    `administrator`, `manager` and `site_lead` are for all sites of the demo; `site_app` has a key for each site alone,
    by the site's reference.
    """

    administrator: str
    manager: str
    site_lead: str
    site_app: Mapping[str, str]

    def of(self, delivery: Delivery) -> str:
        """Choose the key a delivery is posted with."""
        if delivery.imported or delivery.key_role == "administrator":
            return self.administrator
        if delivery.key_role == "site-app":
            return self.site_app[str(delivery.site)]
        return self.manager if delivery.key_role == "manager" else self.site_lead
