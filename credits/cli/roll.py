"""Commands for the end credits: plan, roll, why."""

from __future__ import annotations

from pathlib import Path

from credits.app.end_credits.credits import ProofShown, read_credits, read_proof, save_proof
from credits.app.end_credits.plan import first_plan_text, write_plan
from credits.app.work.named import text_meant
from credits.billing.compared.changes import CreditChange
from credits.billing.compared.compare import Comparison
from credits.billing.credits import Credits
from credits.billing.proofs import in_groups
from credits.billing.reasons import in_words
from credits.billing.remarks import plan_remarks
from credits.cautions import CREDITS_CAUTION
from credits.cli.options import JsonOption, Number, ProductionOption, Text, option, refuse
from credits.cli.production import codes, folder_of
from credits.cli.terminal import printing
from credits.formats.deliver.plain import credits_shape, edit_json
from credits.memory import import_for_good
from credits.model.words import counted
from credits.store.log import open_log


def _list_proofs(folder: Path, as_json: bool) -> None:
    """List every proof, the first one first."""
    with open_log(folder) as log:
        proofs = log.proofs()
        seals = {mark.number: log.log_seal(mark.number) for mark in proofs}
    fields = "proof=number saved_at saved_by note cut last_line lines people seal episode"
    shape = {
        "proofs": [
            {**printing.fields_json(mark, fields), "log_seal": seals[mark.number] or None}
            for mark in proofs
        ]
    }
    when = "{:%Y-%m-%d %H:%M} UTC".format
    rows = [
        (m.number, when(m.saved_at), m.saved_by, m.note, m.episode, m.cut, m.last_line,
         m.lines, m.people, in_groups(m.seal or ""), in_groups(seals[m.number]))
        for m in proofs
    ]  # fmt: skip
    heads = (
        *("proof", "saved", "by", "note", "episode", "cut version", "log up to", "lines", "people"),
        *("seal", "seal of the log"),
    )
    nothing = "No proof has been made yet. Freeze one: credits roll --save"
    printing.say_rows(as_json, shape, heads, rows, nothing, right=(7, 8))


def _change_json(change: CreditChange) -> dict[str, object]:
    """Return a change as JSON; ``person`` null: it is about nobody of the log."""
    return {
        "change": str(change.kind),
        "person": change.person or None,
        "name": change.name or None,
        "heading": change.heading or None,
        **printing.fields_json(change, "what why entries"),
        "edits": [edit_json(edit) for edit in change.edits],
    }


def _say_changes(comparison: Comparison) -> None:
    """Print what changed, kind by kind, and why."""
    mark, count = comparison.mark, len(comparison.changes)
    rows = [(change.kind, change.what, change.why_words) for change in comparison.changes]
    if rows:
        printing.table(("change", "what", "why"), rows, in_parts=True)
    said = counted(count, "change", grouped=False) if count else "Nothing that is read has changed"
    until = f" to proof {comparison.later.number}" if comparison.later is not None else ""
    since = "from" if until else "since"
    printing.remark(f"{said} {since} proof {mark.number} of {mark.saved_at:%Y-%m-%d}{until}.")
    if not count and not comparison.same:
        printing.remark("The figures or entries behind the lines, the plan or the cut have.")


def roll(
    save_it: bool = option(False, "--save", "Freeze these credits as a numbered proof."),
    by: Text = option(None, "--by", "With --save: who makes the proof.", "WHO", codes("people")),
    note: Text = option(None, "--note", "With --save: what it is for.", "TEXT"),
    against: Number = option(None, "--against", "Say what changed since proof N, and why.", "N"),
    proof: Number = option(
        None, "--proof", "The credits of proof N, not those as they stand.", "N"
    ),
    proofs: bool = option(False, "--proofs", "List the proofs."),
    episode: Text = option(None, "--episode", "The credits of this episode alone.", "EPISODE"),
    raster: Text = option(
        None, "--size --raster", "Propose speeds for this picture; 1920x1080.", "WxH"
    ),
    pitch: Number = option(
        None, "--line-height --pitch", "Propose speeds for lines so high; 60.", "PX"
    ),
    length: Text = option(None, "--length", "Propose speeds around this length.", "M:SS"),
    production: ProductionOption = None,
    as_json: JsonOption = False,
) -> None:
    """Compile the end credits by the plan; say who is not printed.

    A proof is a frozen copy with a number: --save makes one, --against says what changed since.
    """
    folder = folder_of(production)
    if proofs:
        _list_proofs(folder, as_json)
        return
    if raster is not None or pitch is not None or length is not None:
        hint = "Leave one of both out: speeds are those of the whole film."
        refuse({"--episode": episode}, "does not go with a roll's speed", hint)
        # Only who asks for speeds waits for what draws letters and measures them.
        speeds = import_for_good("credits.cli.speeds")
        speeds.propose(folder, raster, pitch, length, as_json)
        return
    if proof is not None:
        saving = {"--save": save_it or None, "--by": by, "--note": note, "--episode": episode}
        refuse(saving, "does not go with --proof", "Leave one of both out.")
        _say_proof(read_proof(folder, proof, against), as_json)
        return
    if not save_it:
        hint = "Write --save with it, or leave it out."
        refuse({"--by": by, "--note": note}, "is said of a proof that is made", hint)
        now, saved = read_credits(folder, against, episode), False
    else:
        who = text_meant(by, "--by") if by is not None else None
        what = text_meant(note, "--note") if note is not None else None
        now, saved = save_proof(folder, who, what, against, episode)
    compiled, number, comparison = now.snapshot.credits, now.same_as, now.comparison
    remarks = plan_remarks(now.snapshot.plan, compiled)
    if as_json:
        _say_json(compiled, number, comparison, remarks)
        return
    _say_credits(compiled, comparison)
    if comparison is None:
        for each in remarks:
            printing.remark(each)
    if saved:
        printing.remark(f"Saved as proof {number}.")
    elif save_it:
        printing.remark(f"Nothing has changed since proof {number}: no new proof was made.")
    elif number is not None:
        printing.remark(f"These are the credits of proof {number}.")
    printing.warn(CREDITS_CAUTION)


def _say_proof(shown: ProofShown, as_json: bool) -> None:
    """Print the credits of a proof, or what changed to them."""
    mark = shown.mark
    if as_json:
        _say_json(shown.credits, mark.number, shown.comparison)
        return
    _say_credits(shown.credits, shown.comparison)
    printing.remark(f"These are the credits of proof {mark.number} of {mark.saved_at:%Y-%m-%d}.")
    printing.warn(CREDITS_CAUTION)


def _say_json(
    compiled: Credits,
    number: int | None,
    comparison: Comparison | None,
    remarks: tuple[str, ...] = (),
) -> None:
    shape: dict[str, object] = {"plan": compiled.plan, **credits_shape(compiled, number)}
    shape["remarks"] = list(remarks)
    if comparison is not None:
        shape["against"] = comparison.mark.number
        shape["changes"] = [_change_json(change) for change in comparison.changes]
    printing.say_json({**shape, "caution": CREDITS_CAUTION})


def _say_credits(compiled: Credits, comparison: Comparison | None) -> None:
    if comparison is not None:
        _say_changes(comparison)
    else:
        _say(compiled)


def _say(compiled: Credits) -> None:
    rows: list[tuple[str, str, str | None, str]] = []
    for section in compiled.sections:
        texts = filter(None, map(str.strip, section.text.splitlines()))
        rows += [(section.heading, text, "", "") for text in texts]
        rows += [(section.heading, f"[{one.shows}]", "", "") for one in section.pictures]
        if not (section.lines or section.text or section.pictures):
            rows.append((section.heading, "", "", ""))
        for line in section.lines:
            first, *more = f"{line.joined} {line.name}".strip().split("\n")
            remarks = (line.note, "" if line.confirmed else "spelling not confirmed")
            rows.append((section.heading, first, line.role, ", ".join(filter(None, remarks))))
            rows += [(section.heading, part, "", "") for part in more]
    rows += [("(not printed)", held.name, "", held.reason) for held in compiled.held]
    rows += [
        ("(line not printed)", held.name, held.heading, in_words(held.because).threshold)
        for held in compiled.held_lines
    ]
    if not rows:
        printing.remark("Nobody yet: the log has no entries and no engagements.")
        return
    printing.table(("heading", "name", "role", "remark"), rows, in_parts=True)


STANDARD_OUTPUT = "-"


def plan(
    out: Path | None = option(
        None,
        "--out",
        "Where to write it; - shows it. Else credit-plan.toml in the production folder.",
        "FILE",
    ),
    force: bool = option(False, "--force", "Write over a plan that is there already."),
    production: ProductionOption = None,
) -> None:
    """Write a first credit plan from the log, to be changed."""
    folder = folder_of(production)
    if out == Path(STANDARD_OUTPUT):
        said = first_plan_text(folder).splitlines()
    else:
        wrote = f"Wrote {write_plan(folder, out, force)}."
        said = [wrote, "Next: change it, then see what comes of it: credits roll"]
    for line in said:
        printing.say(line)
