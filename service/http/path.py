"""The parts of an address that name something."""

from typing import Annotated, TypeAlias

from litestar.params import PathParameter

from service.domain.words import REF_PATTERN

#: A reference or tag; what cannot be one names nothing, so that the answer is 404.
FromRef: TypeAlias = Annotated[str, PathParameter(pattern=REF_PATTERN, description="Its reference.")]
