"""MQTT topic filters: validity, matching, and the texts that their wildcards stand for.

MQTT 5.0 §4.7 (3.1.1 says the same). A filter is judged here before the broker sees it, because a
broker answers a bad one by closing the connection.
"""

from __future__ import annotations

from typing import Final

#: MQTT 5.0 §1.5.4: a string's length is two bytes.
MOST_BYTES: Final = 65_535
SHARED_PREFIX: Final = "$share/"


def problem_of_filter(topic_filter: str) -> str | None:
    """What is wrong with a topic filter, or ``None``."""
    if problem := _problem_of_text(topic_filter, "a topic filter"):
        return problem
    if topic_filter.startswith(SHARED_PREFIX):
        return f"'{topic_filter}' is a shared subscription: each message would reach only one peer"
    levels = topic_filter.split("/")
    for number, level in enumerate(levels, 1):
        if "#" in level and level != "#":
            return f"'{topic_filter}' has # beside other characters: it must fill its level"
        if level == "#" and number < len(levels):
            return f"'{topic_filter}' goes on after #, which must be the last level"
        if "+" in level and level != "+":
            return f"'{topic_filter}' has + beside other characters: it must fill its level"
    return None


def problem_of_topic(topic: str) -> str | None:
    """What is wrong with a topic that something is to be published to, or ``None``."""
    if problem := _problem_of_text(topic, "a topic"):
        return problem
    if "+" in topic or "#" in topic:
        return f"'{topic}' has a wildcard: what is published needs a topic without + and #"
    return None


def _problem_of_text(text: str, what: str) -> str | None:
    if not text:
        return f"{what} needs at least one character"
    if "\0" in text:
        return f"{what} may not have the character U+0000: {text!r}"
    if any("\ud800" <= character <= "\udfff" for character in text):
        return f"{what} may not have half a surrogate pair: {text!r}"
    if (length := len(text.encode())) > MOST_BYTES:
        return f"{what} of {length} bytes is too long: at most {MOST_BYTES}"
    return None


def wildcard_count(topic_filter: str) -> int:
    """How many wildcards a valid filter has."""
    return sum(level in {"+", "#"} for level in topic_filter.split("/"))


def matches(topic_filter: str, topic: str) -> bool:
    """Whether a valid filter matches a topic."""
    return captured(topic_filter, topic) is not None


def captured(topic_filter: str, topic: str) -> tuple[str, ...] | None:
    """The texts that the filter's wildcards stand for in the topic, or ``None`` without a match.

    ``+`` gives its level, ``#`` all the levels that it covers (empty where it covers none).
    """
    filter_levels = topic_filter.split("/")
    # §4.7.2: a server's own topics are not for whoever listens to everything.
    if topic.startswith("$") and filter_levels[0] in {"+", "#"}:
        return None
    levels = topic.split("/")
    texts: list[str] = []
    for index, level in enumerate(filter_levels):
        if level == "#":
            texts.append("/".join(levels[index:]))
            return tuple(texts)
        if index == len(levels):
            return None
        if level == "+":
            texts.append(levels[index])
        elif level != levels[index]:
            return None
    return tuple(texts) if len(levels) == len(filter_levels) else None
