"""What is known of a deck, an arm, a cartridge and a bench: frozen models and their field types."""

from core.records.arm import Arm, ArmKind, Balance
from core.records.arms import (
    FIRST_ARM,
    arm_name,
    arm_of,
    arms_of,
    first_arm,
    has_several_arms,
    seen_with_arm,
)
from core.records.base import FrozenModel, build_models
from core.records.bench_kit import BenchKit
from core.records.cartridge import Cartridge, ComplianceKind, Generator, Mounting, StylusShape
from core.records.deck import (
    Deck,
    FeetControl,
    Foot,
    FurtherArm,
    HeadKind,
    HeightControl,
    MountedArm,
    SkatingControl,
    SpeedTrim,
    TiltControl,
)
from core.records.feet_layout import FeetLayout, FeetPattern, FeetTurned, layout_of
from core.records.field_specs import FieldKind, FieldSpec, fields_of
from core.records.file_figures import FileFigures
from core.records.headshell import Headshell, same_but_for_headshell, seen_with_headshell
from core.records.job import Customer, Job, JobState
from core.records.picture import KeptPicture, PictureOf
from core.records.quantities import (
    COUNT,
    GF,
    MILLIHENRY,
    MILLIMETRES_PER_INCH,
    MILLINEWTON_PER_GRAM_FORCE,
    MM,
    MM_PER_M,
    NUMBER,
    RPM,
    TURN,
    UNITS,
    Choice,
    Count,
    Decibels,
    Degrees,
    Directions,
    Divisions,
    Grams,
    GramsForce,
    Hertz,
    Hours,
    Limits,
    Millimetres,
    Minutes,
    NotAsked,
    Percent,
    PlainNumber,
    ReadAnew,
    RevolutionsPerMinute,
    Seconds,
    Unit,
    When,
)
from core.records.service import Service, ServicePart
from core.records.test_record import (
    BandUse,
    CutOn,
    CutRecord,
    RecordBand,
    RecordPlayed,
    TestRecord,
)

AnyRecord = Deck | Cartridge | Headshell | CutRecord | Job | Customer | Service | KeptPicture
"""What a library keeps with revisions."""

__all__ = [
    "COUNT",
    "FIRST_ARM",
    "GF",
    "MILLIHENRY",
    "MILLIMETRES_PER_INCH",
    "MILLINEWTON_PER_GRAM_FORCE",
    "MM",
    "MM_PER_M",
    "NUMBER",
    "RPM",
    "TURN",
    "UNITS",
    "AnyRecord",
    "Arm",
    "ArmKind",
    "Balance",
    "BandUse",
    "BenchKit",
    "Cartridge",
    "Choice",
    "ComplianceKind",
    "Count",
    "Customer",
    "CutOn",
    "CutRecord",
    "Decibels",
    "Deck",
    "Degrees",
    "Directions",
    "Divisions",
    "FeetControl",
    "FeetLayout",
    "FeetPattern",
    "FeetTurned",
    "FieldKind",
    "FieldSpec",
    "FileFigures",
    "Foot",
    "FrozenModel",
    "FurtherArm",
    "Generator",
    "Grams",
    "GramsForce",
    "HeadKind",
    "Headshell",
    "HeightControl",
    "Hertz",
    "Hours",
    "Job",
    "JobState",
    "KeptPicture",
    "Limits",
    "Millimetres",
    "Minutes",
    "MountedArm",
    "Mounting",
    "NotAsked",
    "Percent",
    "PictureOf",
    "PlainNumber",
    "ReadAnew",
    "RecordBand",
    "RecordPlayed",
    "RevolutionsPerMinute",
    "Seconds",
    "Service",
    "ServicePart",
    "SkatingControl",
    "SpeedTrim",
    "StylusShape",
    "TestRecord",
    "TiltControl",
    "Unit",
    "When",
    "arm_name",
    "arm_of",
    "arms_of",
    "build_models",
    "fields_of",
    "first_arm",
    "has_several_arms",
    "layout_of",
    "name_of",
    "same_but_for_headshell",
    "seen_with_arm",
    "seen_with_headshell",
]


def name_of(record: AnyRecord) -> str:
    """Return what a person calls it: a job by its number, others by what they say."""
    if isinstance(record, KeptPicture):
        return record.caption or record.day
    if isinstance(record, Service):
        return f"{record.day} {record.done}"
    return record.number or record.brought if isinstance(record, Job) else record.name
