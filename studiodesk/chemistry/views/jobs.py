"""Jobs that recur, and the working day of a processor: opened step by step, ready, closed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refused
from studiodesk.people.access import house_page, staff_page
from studiodesk.stations import actions as stations
from studiodesk.stations import job_queries
from studiodesk.stations.models import Job, JobDone, Processor, ProcessorOpening
from studiodesk.words import say

from .. import actions, queries
from ..forms import DoneForm, JobForm
from ..rules.board_days import WorkingDay
from .common import code_for, studio_zone, today


def _begin(*, processor: Processor, opening: ProcessorOpening | None, now: datetime, by: Any) -> Any:
    return stations.begin_opening(processor=processor, now=now, by=by)


def _of_opening(act: Callable[..., Any]) -> Callable[..., Any]:
    def run(*, processor: Processor, opening: ProcessorOpening | None, now: datetime, by: Any) -> Any:
        if opening is None:
            return _begin(processor=processor, opening=None, now=now, by=by)
        return act(opening=opening, now=now, by=by)

    return run


DEEDS: dict[str, tuple[Callable[..., Any], Any]] = {
    "begin": (_begin, gettext_lazy("Begun: go through the steps.")),
    "ready": (_of_opening(actions.make_ready), gettext_lazy("Ready for paper.")),
    "close": (_of_opening(actions.close_processor), gettext_lazy("Closed for today. Thank you.")),
}


def _processor(code: str) -> Processor:
    try:
        return queries.access_processor(code)
    except Processor.DoesNotExist as missing:
        raise Http404 from missing


def _job(code: str) -> Job:
    try:
        return job_queries.access_job(code)
    except Job.DoesNotExist as missing:
        raise Http404 from missing


@require_safe
@house_page
def jobs(request: HttpRequest) -> HttpResponse:
    """What is due, what comes, each with the way to write it down."""
    return _jobs(request)


def _jobs(
    request: HttpRequest, wrong: DoneForm | None = None, of: Job | None = None, status: int = 200
) -> HttpResponse:
    found = job_queries.lines(request.user, timezone.now(), studio_zone())
    lines = [
        {"line": one, "form": wrong if of is not None and one.job.pk == of.pk else DoneForm(job=one.job)}
        for one in found
    ]
    context = {"lines": lines, "wrong": wrong, "processors": queries.all_processors()}
    return render(request, "chemistry/jobs.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def working_day(request: HttpRequest, code: str) -> HttpResponse:
    """POST ``deed``: begin, ready or close."""
    processor, now = _processor(code), timezone.now()
    if request.method == "POST":
        deed = DEEDS.get(request.POST.get("deed", ""))
        if deed is None:
            messages.error(request, _("That button is not known here. Nothing was changed."))
        else:
            act, said = deed
            try:
                act(processor=processor, opening=job_queries.opening_of(processor), now=now, by=request.user)
            except Refused as refused:
                messages.error(request, str(say(refused.refusal)))
            else:
                messages.success(request, said)
        return redirect("working_day", code=code)
    return _day(request, processor, now)


def _day(
    request: HttpRequest, processor: Processor, now: datetime, wrong: DoneForm | None = None, of: Job | None = None
) -> HttpResponse:
    opening = job_queries.opening_of(processor)

    def listed(occasion: str) -> list[dict[str, Any]]:
        steps = job_queries.steps(processor, occasion, opening, request.user)
        return [
            {"step": one, "form": wrong if of is not None and one.job.pk == of.pk else DoneForm(job=one.job)}
            for one in steps
        ]

    at_opening, at_closing = listed(Job.Occasion.OPENING), listed(Job.Occasion.CLOSING)
    day: WorkingDay | None = queries.working_days([processor.pk], now, studio_zone()).get(processor.pk)
    context = {
        "processor": processor,
        "opening": opening,
        "day": day,
        "at_opening": at_opening,
        "at_closing": at_closing,
        "opening_done": not any(one["step"].is_open for one in at_opening),
        "closing_done": not any(one["step"].is_open for one in at_closing),
        "wrong": wrong,
        "trays": queries.is_tray_line(processor),
    }
    return render(request, "chemistry/working_day.html", context, status=200 if wrong is None else 422)


@require_safe
@house_page
def bath_change_list(request: HttpRequest, code: str) -> HttpResponse:
    """The steps of a bath change, with what was written of them today, and the baths it is written down for."""
    return _changing(request, _processor(code))


def _changing(
    request: HttpRequest, processor: Processor, wrong: DoneForm | None = None, of: Job | None = None
) -> HttpResponse:
    since = today(timezone.now()).starts
    steps = job_queries.steps(processor, Job.Occasion.BATH_CHANGE, None, request.user, since=since)
    listed = [
        {"step": one, "form": wrong if of is not None and one.job.pk == of.pk else DoneForm(job=one.job)}
        for one in steps
    ]
    done = sum(not one.is_open for one in steps)
    baths = queries.baths().filter(processor=processor)
    context = {"processor": processor, "steps": listed, "done": done, "baths": baths, "wrong": wrong}
    return render(request, "chemistry/bath_change_list.html", context, status=200 if wrong is None else 422)


@require_POST
@house_page
def job_done(request: HttpRequest, code: str) -> HttpResponse:
    """``left_out``: not done, with the reason in the words.  ``day``: it was written on the page of its processor."""
    job, now = _job(code), timezone.now()
    on_day = job.processor is not None and job.occasion in (Job.Occasion.OPENING, Job.Occasion.CLOSING)
    opening = job_queries.opening_of(job.processor) if on_day and job.processor is not None else None
    form = DoneForm(request.POST, job=job)
    if form.is_valid():
        try:
            done = actions.do_job(
                job=job,
                now=now,
                by=request.user,
                value=form.cleaned_data.get("value"),
                note=form.cleaned_data["note"],
                left_out=request.POST.get("left_out") == "1",
                opening=opening,
            )
        except Refused as refused:
            if refused.refusal.facts.get("status") == 403:
                raise
            form.refuse(refused.refusal)
        else:
            _said(request, done)
            return _back(job)
    if job.occasion == Job.Occasion.BATH_CHANGE and job.processor is not None:
        return _changing(request, job.processor, form, job)
    if on_day and job.processor is not None:
        return _day(request, job.processor, now, form, job)
    return _jobs(request, form, job, 422)


def _back(job: Job) -> HttpResponse:
    """To the list that the job stands in."""
    if job.processor is not None and job.occasion in (Job.Occasion.OPENING, Job.Occasion.CLOSING):
        return redirect("working_day", code=job.processor.code)
    if job.processor is not None and job.occasion == Job.Occasion.BATH_CHANGE:
        return redirect("bath_change_list", code=job.processor.code)
    return redirect("jobs")


def _said(request: HttpRequest, done: JobDone) -> None:
    if done.left_out:
        messages.success(request, _("Left out: %(job)s.") % {"job": done.job.name})
    elif done.in_tolerance:
        messages.success(request, _("Written down: %(job)s.") % {"job": done.job.name})
    else:
        messages.warning(
            request, _("%(job)s is out of its tolerance: put it right and read it again.") % {"job": done.job.name}
        )


@require_POST
@house_page
def job_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """A line of today that was wrong."""
    try:
        done = job_queries.access_done(pk)
    except JobDone.DoesNotExist as missing:
        raise Http404 from missing
    try:
        actions.take_back_job(done=done, now=timezone.now(), by=request.user)
    except Refused as refused:
        messages.error(request, str(say(refused.refusal)))
    else:
        messages.success(request, _("Taken back: %(job)s.") % {"job": done.job.name})
    return _back(done.job)


@require_safe
@staff_page
def jobs_kept(request: HttpRequest) -> HttpResponse:
    """Every job that there is, for whoever keeps the list."""
    return render(request, "chemistry/jobs_kept.html", {"jobs": job_queries.all_jobs()})


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def job_new(request: HttpRequest) -> HttpResponse:
    return _kept(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def job_edit(request: HttpRequest, code: str) -> HttpResponse:
    return _kept(request, _job(code))


def _kept(request: HttpRequest, row: Job | None) -> HttpResponse:
    processors = list(queries.all_processors())
    if request.method != "POST":
        initial: dict[str, Any] = {"who": Job.Who.KEYHOLDER, "in_use": True, "occasion": Job.Occasion.DAYS}
        if row is not None:
            initial = {name: getattr(row, name) for name in JobForm.base_fields if name != "processor"}
            initial["processor"] = row.processor.code if row.processor else ""
        form = JobForm(processors=processors, initial=initial)
        return render(request, "chemistry/job_edit.html", {"form": form, "job": row})
    form = JobForm(request.POST, processors=processors)
    if form.is_valid():
        code = (
            row.code
            if row is not None
            else code_for(form.cleaned_data["name"], set(Job.objects.values_list("code", flat=True)), longest=54)
        )
        try:
            kept, _changed = stations.keep_job(code=code, now=timezone.now(), by=request.user, **form.values())
        except Refused as refused:
            form.refuse(refused.refusal)
        else:
            messages.success(request, _("Kept: %(job)s.") % {"job": kept.name})
            return redirect("jobs_kept")
    return render(request, "chemistry/job_edit.html", {"form": form, "job": row}, status=422)
