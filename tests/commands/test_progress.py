import io

from rich.console import Console

from service.commands.progress import progress


def test_ten_lines_tell_of_the_work_where_nobody_watches() -> None:
    """Without a terminal each tenth of the work is told once, however small the steps."""
    out = io.StringIO()
    with progress("Posting", "messages", Console(file=out)) as moved:
        for done in range(0, 3001, 50):
            moved(done, 3000)
    assert out.getvalue().splitlines() == [
        f"Posting: {done} of 3,000 messages"
        for done in ("300", "600", "900", "1,200", "1,500", "1,800", "2,100", "2,400", "2,700", "3,000")
    ]


def test_a_bar_is_drawn_on_a_terminal() -> None:
    """On a terminal one bar is drawn, with what is done and of how many."""
    out = io.StringIO()
    with progress("Posting", "messages", Console(file=out, force_terminal=True, width=120)) as moved:
        moved(1500, 3000)
    assert "1500/3000" in out.getvalue()
    assert "messages" in out.getvalue()
