"""A customer's data erased on request, also from what the app keeps beside the store. No Kivy."""

from mobile.jobs import shared_file, signing
from mobile.jobs.exchange import forget_files
from mobile.jobs.record_files import pdf_path
from mobile.jobs.set_up import SetUp
from mobile.jobs.workplace import Workplace


def erase_customer(work: Workplace, vehicle_id: str) -> str:
    """Erase a vehicle's customer and say in words what was erased.

    The records stay and still verify; a PDF is written anew, without the names, when asked for.
    """
    forget_files(work.store_folder)
    shared_file.forget(work.store_folder)
    for job in work.store.vehicle(vehicle_id).jobs:
        signing.forget(work.store, job.job_id)
        for sealed in work.store.sealed(job.job_id):
            pdf_path(work.store_folder, sealed).unlink(missing_ok=True)
    SetUp.of(work, vehicle_id).discard()
    return work.store.erase_customer(vehicle_id).summary
