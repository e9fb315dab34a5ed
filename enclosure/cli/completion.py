"""``enclosure completion``: how does the shell learn to complete commands?"""

from __future__ import annotations

import click


@click.command(short_help="Let your shell complete commands.")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]), metavar="SHELL")
def completion(shell: str) -> None:
    """Print the lines that let your SHELL complete commands and options.

    \b
    Add one of these to the start-up file of your shell:
      bash    eval "$(enclosure completion bash)"
      zsh     eval "$(enclosure completion zsh)"
      fish    enclosure completion fish | source
    """
    from click.shell_completion import get_completion_class

    kind = get_completion_class(shell)
    assert kind is not None
    root = click.get_current_context().find_root().command
    source = kind(root, {}, "enclosure", "_ENCLOSURE_COMPLETE")
    click.echo(source.source_template % source.source_vars())
