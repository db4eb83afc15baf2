"""The command ``cabapp``. Nothing is imported before ``main`` can answer for an early Ctrl-C."""

INTERRUPTED = 130  # as a shell says it: 128 and the number of the signal


def main(words: list[str] | None = None) -> int:
    """Run one command; its exit code (see ``commands``), 130 where a person stopped it."""
    try:
        from cabapp.commands import run

        return run(words)
    except KeyboardInterrupt:
        return INTERRUPTED
