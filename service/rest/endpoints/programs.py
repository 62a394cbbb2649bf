"""Machine programs, held against what was signed."""

from __future__ import annotations

from service.orders.errors import FieldError, InvalidError
from service.orders.ids import is_id
from service.orders.program_checks import MOST_BYTES
from service.rest.operation import Answer, Call, FormField, Operation, tagged
from service.rest.responses.orders import API
from service.rest.responses.programs import ProgramCheckBody, ProgramChecksBody, program_check_body
from service.rest.use import Does, as_it_is, bytes_of, items, one
from service.usecases import program_checking, program_sheets
from service.usecases.commands import Upload
from service.usecases.program_checking import AskedReading

TAG = "Program check"
_PROBLEMS = (
    "too-large",
    "unsupported-type",
    "not-signed",
    "not-current",
    "too-many-carvings",
    "wrong-state",
    "too-many",
)
_HOW = (
    "Send a multipart form with the program in a part named `file`, or the program itself as `text/plain` with its "
    "name in `Content-Disposition`; and, as further parts or in the address: `carvings`, ids of those it may be (all "
    "of them where none is named); `bit`, the key of the bit in the spindle, where it is not the signed one; "
    "`flat_tool`, the T number of a straight bit; `offsets`, such as `G55=300,0,0`, where it works from more than one "
    "zero. At most 50 MB and 2 million moves. Words that are not understood refuse it with their line. The program is "
    "not kept. A check is no word that a program may be run."
)

_FIELDS = {
    "carvings": FormField("ids of the carvings it may be about, separated by commas"),
    "bit": FormField("key of the bit"),
    "flat_tool": FormField("the T number of a straight bit"),
    "offsets": FormField("a zero of the machine's, such as `G55=300,0,0`"),
}


def _asked(call: Call) -> tuple[Upload, AskedReading]:
    sent = call.upload
    assert sent is not None  # noqa: S101 - the operations take a file

    def texts(name: str) -> tuple[str, ...]:
        return tuple(value for value in sent.fields.get(name, ()) if value.strip())

    carvings = tuple(part for value in texts("carvings") for part in value.split(",") if part)
    if not all(map(is_id, carvings)):
        told = "Name the carvings by their ids, separated by commas."
        raise InvalidError(FieldError("carvings", "not-an-id", told))
    tool = next(iter(texts("flat_tool")), "")
    if tool and not (tool.isdecimal() and len(tool) < 6):
        raise InvalidError(FieldError("flat_tool", "not-a-number", "Give the number after T, such as 2."))
    reading = AskedReading(next(iter(texts("bit")), ""), int(tool) if tool else None, texts("offsets"))
    return Upload(sent.data, sent.name, sent.content_type, carvings), reading


def _of_order(call: Call) -> Answer[ProgramCheckBody]:
    upload, reading = _asked(call)
    check = program_checking.check_program(call.ctx, call.actor, call.path["order"], upload, reading)
    call.kept.forget(check.order_id)
    return Answer(program_check_body(check), location=f"{API}/program-checks/{check.id}")


def _of_batch(call: Call) -> Answer[ProgramCheckBody]:
    upload, reading = _asked(call)
    check = program_checking.check_batch_program(call.ctx, call.actor, call.path["batch"], upload, reading)
    call.kept.forget(check.order_id)
    return Answer(program_check_body(check), location=f"{API}/program-checks/{check.id}")


def _of_bed(call: Call) -> Answer[ProgramChecksBody]:
    upload, reading = _asked(call)
    bed = call.path["bed"]
    if not (bed.isdecimal() and len(bed) < 5):
        raise InvalidError(FieldError("bed", "not-a-number", "Give the number of the bed, such as 1."))
    checks = program_checking.check_bed_program(
        call.ctx, call.actor, call.path["order"], int(bed), upload, asked=reading
    )
    call.kept.forget(call.path["order"])
    return Answer(ProgramChecksBody(tuple(map(program_check_body, checks))))


OPERATIONS = tagged(
    TAG,
    Operation(
        "POST /orders/{order}/program-checks",
        "checkProgram",
        "Hold a machine program against what was signed.",
        _of_order,
        status=201,
        takes_file=True,
        fields=_FIELDS,
        largest=MOST_BYTES,
        problems=_PROBLEMS,
        more=_HOW,
    ),
    Operation(
        "POST /orders/{order}/beds/{bed}/program-checks",
        "checkBedProgram",
        "Hold a machine program against everything that is carved on one bed of a released order.",
        _of_bed,
        status=201,
        takes_file=True,
        largest=MOST_BYTES,
        problems=(*_PROBLEMS, "not-released", "no-board"),
        more=f"The bed lies as its drawing has it, its lower left corner the zero. Each carving on it is entered by "
        f"itself. Moves of the machine's straight bit, which cuts parts out, are not compared. {_HOW}",
    ),
    Operation(
        "POST /batches/{batch}/program-checks",
        "checkBatchProgram",
        "Find which carving of a batch a machine program is, and hold it against that.",
        _of_batch,
        status=201,
        takes_file=True,
        fields=_FIELDS,
        largest=MOST_BYTES,
        problems=_PROBLEMS,
        more=_HOW,
    ),
    Operation(
        "GET /orders/{order}/program-checks",
        "listProgramChecks",
        "List every check of an order's programs, newest first.",
        Does(program_checking.list_program_checks, items(ProgramChecksBody, program_check_body)),
    ),
    Operation(
        "GET /orders/{order}/program-checks/sheet",
        "getProgramSheet",
        "Get the sheet that says which program each carving was checked with.",
        Does(program_sheets.program_sheet, bytes_of("application/pdf", "program-checks.pdf")),
        file=("application/pdf",),
    ),
    Operation(
        "GET /program-checks/{check}",
        "getProgramCheck",
        "Get one check of a program.",
        Does(program_checking.get_program_check, one(program_check_body)),
    ),
    Operation(
        "GET /program-checks/{check}/picture",
        "getProgramPicture",
        "Get the differences between a program and what was signed, on the slat.",
        Does(program_checking.program_picture, as_it_is),
        file=("image/png",),
    ),
)
