"""Text that every reader survives: no control characters, no halves of characters."""


def plain_text(text):
    r"""Return a text with what XML 1.0 and strict readers of JSON refuse made visible.

    Tab and line ends stay. Anything else that is no character to print becomes U+FFFD, the sign for
    something unreadable.

    Examples
    --------
    >>> plain_text("5 kg\x00\ud800\t!") == "5 kg\ufffd\ufffd\t!"
    True
    """
    return "".join(sign if _is_plain(sign) else "\ufffd" for sign in text)


def _is_plain(sign):
    code = ord(sign)
    if code < 32:
        return sign in "\t\r\n"
    return not (127 <= code < 160 or 0xD800 <= code < 0xE000 or code & 0xFFFE == 0xFFFE)
