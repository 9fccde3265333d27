"""An expectation in words: what it says, what it uses, how well it fits. Always called a model."""

from __future__ import annotations

from dataclasses import dataclass

from credits.compute.expectation import INSTALL, Expectation, Outcome, Regressor

TITLE = "A model: what pace would be usual for these shots"
STEPS = {
    Regressor.CHARACTERS: "one more character in the frame",
    Regressor.HOLD: "each pose held for one frame more",
    Regressor.WAIT: "one more hour of waiting for repairs a day",
    Regressor.LENGTH: "a shot twice as long",
    Regressor.RETAKES: "one more take of the shot that was asked for again",
}
NAMES = {
    Regressor.CHARACTERS: "characters in the frame",
    Regressor.HOLD: "frames that a pose is held",
    Regressor.WAIT: "waits for repairs",
    Regressor.LENGTH: "length of the shot",
    Regressor.RETAKES: "takes asked for again",
}


@dataclass(frozen=True, slots=True)
class ShownExpectation:
    """The model in ready texts. ``effects``: what changes, the factor of the pace, its interval.

    Without an expectation ``said`` says why, and there are no effects.
    """

    said: tuple[str, ...]
    effects: tuple[tuple[str, str, str], ...] = ()


def _names(regressors: tuple[Regressor, ...]) -> str:
    return ", ".join(NAMES[regressor] for regressor in regressors)


def _too_few(found: Expectation) -> str:
    return (
        f"Not enough days to say: {found.own_days:.0f} shoot days of this person in the period,"
        f" and {found.days:.0f} of the others in the log. A model needs more of both, and at least"
        " three others."
    )


def shown_expectation(found: Expectation) -> ShownExpectation | None:
    """The expectation in ready texts; None where it is switched off."""
    if found.outcome is Outcome.OFF:
        return None
    if found.outcome is Outcome.NOT_INSTALLED:
        return ShownExpectation((f"The statistics library is not installed. {INSTALL}",))
    if found.outcome is Outcome.TOO_FEW:
        return ShownExpectation((_too_few(found),))
    said = [
        f"For these shots {found.pace:.2f} seconds a shoot day would be usual: in nine of ten cases"
        f" somebody's pace lies between {found.low:.2f} and {found.high:.2f}. Over the same"
        f" {found.own_days:.0f} days it was {found.own_pace:.2f}.",
        f"Estimated from the work of {found.others} others on {found.days:.0f} shoot days,"
        f" {found.pieces} pieces of work (one person on one shot); this person's own work is left"
        f" out, and who animated is no part of it. It explains {100 * found.explained:.0f} % of how"
        " those pieces differ; the rest is what the log does not say.",
    ]
    if found.unused:
        said.append(f"Not used, since it does not vary by itself here: {_names(found.unused)}.")
    if found.beyond:
        said.append(
            "This work goes beyond that of the others in one thing or more, so the model is less"
            f" sure than its interval says: {_names(found.beyond)}."
        )
    effects = tuple(
        (STEPS[each.regressor], f"× {each.factor:.2f}", f"{each.low:.2f} to {each.high:.2f}")
        for each in found.effects
    )
    return ShownExpectation(tuple(said), effects)
