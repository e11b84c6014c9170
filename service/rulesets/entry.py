"""How texts, names, scalars and conditions stand in any entry of a rule file."""

from __future__ import annotations

from typing import Annotated

import msgspec

Text = Annotated[str, msgspec.Meta(min_length=1, max_length=2000)]
Name = Annotated[str, msgspec.Meta(pattern="^[a-z][a-z0-9_]{0,59}$(?!\n)")]
Slug = Annotated[str, msgspec.Meta(pattern="^[a-z][a-z0-9-]{0,59}$(?!\n)")]
Scalar = str | int | bool
When = dict[Name, Scalar | list[Scalar]]
