"""The calculation sheet of a configuration: what its answer leaves out for brevity."""

from recommender.calculation.lap import lap_curve, roller_curves
from recommender.calculation.worked import Worked
from recommender.calculation.workings import workings
from recommender.choice.carrier.setting import OptionContext
from recommender.choice.checks.configured import ConfiguredContext
from recommender.choice.decision.audit import Audit
from recommender.choice.loop.built import layout_of, setting_of
from recommender.inputs.case import Case
from recommender.inputs.catalogue import Catalogue
from recommender.results.calculation import Calculation

__all__ = ["calculation_of"]


def calculation_of(audit: Audit, case: Case, catalogue: Catalogue) -> Calculation:
    """The calculation of a configuration, worked out anew from the case.

    Parameters
    ----------
    audit : Audit
    case : Case
    catalogue : Catalogue

    Returns
    -------
    Calculation
        Its numbers are those of the audit.
    """
    configuration = audit.configuration
    about = OptionContext(configuration.option, case, catalogue)
    layout = layout_of(configuration, setting_of(about, configuration.motion))
    built = ConfiguredContext(configuration, layout, catalogue, audit.price)
    lap = lap_curve(layout)
    return Calculation(
        lap=lap.told(),
        rollers=roller_curves(lap),
        workings=workings(Worked(built, audit)),
    )
