"""What riskkit is installed with may be used and passed on by anybody, a company too."""

from __future__ import annotations

import re

from tests.licences import licence, needed

# Licences that allow use and sale without opening what one adds; MPL-2.0 asks only for changes of
# its own files. By their texts, as the Open Source Initiative lists them.
_FREE = re.compile(r"BSD|MIT|Apache|ISC|Python Software Foundation|PSF|MPL|Mozilla|CC0|Zlib|0BSD")
_BINDING = re.compile(r"\bA?GPL|General Public License|Affero|Proprietary|Commercial|EUPL|SSPL")
_SAYS_NOTHING = {"meteostat"}
"""No word in its metadata; its licence file, as read, is the MIT licence."""


def test_every_package_says_a_licence_that_binds_nobody() -> None:
    found = {name: licence(package) for name, package in needed("riskkit", ("fleet",)).items()}
    assert len(found) > 100  # the walk reached what is needed by what is needed
    assert {name: said for name, said in found.items() if _BINDING.search(said)} == {}
    unclear = {name for name, said in found.items() if not _FREE.search(said)}
    assert unclear == _SAYS_NOTHING
