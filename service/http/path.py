"""The parts of an address that name something."""

from typing import Annotated, Final, TypeAlias

from litestar.params import PathParameter

from service.domain.words import REF_PATTERN

MOST_SEQ: Final = 2**53 - 1

#: A reference or tag; what cannot be one names nothing, so that the answer is 404.
FromRef: TypeAlias = Annotated[str, PathParameter(pattern=REF_PATTERN, description="Its reference.")]

#: A place in the log; what cannot be one names nothing.
FromSeq: TypeAlias = Annotated[int, PathParameter(ge=1, le=MOST_SEQ, description="A place in the log.")]
