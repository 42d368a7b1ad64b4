"""Names of options that do not tell which is right."""


def option_names(options):
    """Return a name for each option, by their words and not by their place.

    The kit's data has the right option first; were names given by place, they would tell.

    Examples
    --------
    >>> option_names(("SHUT", "OPEN"))
    {'OPEN': 'option-1', 'SHUT': 'option-2'}
    """
    return {option: f"option-{i}" for i, option in enumerate(sorted(options), start=1)}
