"""Which of the offered formats a request gets: by `?format=`, else by `Accept` (RFC 9110, section 12.5.1)."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import Request

from service.api.problems import Problem


def chosen(request: Request, offered: Mapping[str, str]) -> str:
    """The name of the format to answer in.

    `offered` maps names to media types, the default first; of types that the request likes equally the earlier one
    is taken. Raises the problem `not-acceptable` where nothing fits.
    """
    named = request.query_params.get("format")
    if named is not None:
        if named in offered:
            return named
    else:
        ranges = _ranges(",".join(request.headers.getlist("accept")) or "*/*")
        liked = {name: _quality(media, ranges) for name, media in offered.items()}
        best = max(liked, key=lambda name: liked[name])
        if liked[best] > 0:
            return best
    what = " or ".join(f"{media} (?format={name})" for name, media in offered.items())
    raise Problem("not-acceptable", f"This is offered as {what}.")


def prefers(request: Request, media: str, over: str) -> bool:
    """Whether a request likes one type better than another; liked equally, or without `Accept`, it does not."""
    ranges = _ranges(",".join(request.headers.getlist("accept")) or "*/*")
    return _quality(media, ranges) > _quality(over, ranges)


def _ranges(accept: str) -> dict[str, float]:
    """Media ranges with their weight; what cannot be read is passed over."""
    found: dict[str, float] = {}
    for part in accept.split(","):
        media, *parameters = (word.strip().lower() for word in part.split(";"))
        weight = next((word[2:] for word in parameters if word.startswith("q=")), "1")
        try:
            found[media] = min(max(float(weight), 0.0), 1.0)
        except ValueError:
            continue
    return found


def _quality(media: str, ranges: Mapping[str, float]) -> float:
    """How much a type is liked: the most exact range that fits it counts."""
    for one in (media, f"{media.partition('/')[0]}/*", "*/*"):
        if one in ranges:
            return ranges[one]
    return 0.0
