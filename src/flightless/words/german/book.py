"""The German phrasebook: one rule for each kind of statement.

A rule takes the statement and the state of the telling and gives whole sentences.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flightless.words.facts import alike as at
from flightless.words.facts import further as ft
from flightless.words.facts import nearly as nt
from flightless.words.facts import statements as st
from flightless.words.facts import what_if as wt
from flightless.words.german import change, further, mate, moves, nearly
from flightless.words.german.talk import Talk

__all__ = ["RULES", "Talk"]

Rule = Callable[[Any, Talk], list[str]]

RULES: dict[type[st.Statement], Rule] = {
    st.IsMated: moves.is_mated,
    st.PatternName: moves.pattern_name,
    st.MateIn: moves.mate_in,
    st.FirstMoves: moves.first_moves,
    st.MatedIn: moves.mated_in,
    st.NoMate: moves.no_mate,
    st.Undecided: moves.undecided,
    st.KeyMove: moves.key_move,
    st.Replies: moves.replies,
    st.Delay: moves.delay,
    st.EndsWith: moves.ends_with,
    st.AfterKey: mate.after_key,
    st.Check: mate.check,
    st.DoubleCheck: mate.double_check,
    st.Safe: mate.safe,
    st.Squares: mate.squares,
    st.TwoThings: mate.two_things,
    st.Enough: mate.enough,
    st.LoneGuard: mate.lone_guard,
    st.InTheWay: mate.in_the_way,
    st.ShutOut: mate.shut_out,
    st.NoDefender: change.no_defender,
    st.Instead: change.instead,
    st.NotNeeded: change.not_needed,
    st.LuftMissing: change.luft_missing,
    st.Saved: change.saved,
    ft.Meaning: further.meaning,
    ft.TryFails: further.try_fails,
    ft.OtherKing: further.other_king,
    ft.Either: further.either,
    nt.NotMated: nearly.not_mated,
    nt.CheckNow: nearly.check_now,
    nt.Flights: nearly.flights,
    nt.OtherAnswers: nearly.other_answers,
    nt.NearestCheck: nearly.nearest_check,
    nt.Missing: nearly.missing,
    nt.WouldMate: nearly.would_mate,
    at.SameMate: further.same_mate,
    at.Share: further.share,
    at.Differ: further.differ,
    at.SquaresAlike: further.squares_alike,
    wt.Breaks: nearly.breaks,
    wt.BlockedAsWell: nearly.blocked_as_well,
    wt.Slides: nearly.slides,
    wt.AtTheStart: nearly.at_the_start,
}
