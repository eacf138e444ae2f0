"""One of many cases and lines, answered in brief: in this process, in another, on a cluster."""

from recommender.inputs.catalogue import Catalogue
from recommender.lines import is_line
from recommender.lines.reading import check_line_currency, make_line
from recommender.lines.recommend import recommend_line
from recommender.results.batch import Line
from recommender.trials.batch import answer_one, answered_by
from recommender.trials.jobs import Job


def answer_any(job: Job, catalogue: Catalogue, seconds: float | None) -> Line:
    """Answer a case or a line of loops; whatever goes wrong is told."""
    if not is_line(job.data):
        return answer_one(job, catalogue, seconds)
    return answered_by(_of_line, job, catalogue, seconds)


def _of_line(job: Job, catalogue: Catalogue, seconds: float | None) -> Line:
    line = make_line(job.data, job.name)
    currency = catalogue.catalogue.currency
    check_line_currency(line, currency, job.name)
    answer = recommend_line(line, catalogue, in_brief=True, seconds=seconds)
    shared, floor, proof, loops = answer.shared, answer.floor, answer.proof, len(line.loops)
    if answer.price is None or shared is None or floor is None or proof is None:
        return Line(job.name, answer.status, currency=currency, loops=loops)
    chosen = [(loop.name, loop.chosen) for loop in answer.loops if loop.chosen is not None]
    return Line(
        job.name,
        answer.status,
        option=", ".join(f"{name} {option.id}" for name, option in chosen),
        carriers=shared.carriers,
        guide_m=round(sum(o.loop.length_m for _, o in chosen if o.loop is not None), 4),
        price=f"{answer.price:.2f}",
        currency=currency,
        at_least=f"{min(proof.best_bound, proof.price):.2f}",
        proven=proof.optimal,
        floor_m2=round(floor.length_m * floor.width_m, 4),
        loops=loops,
    )
