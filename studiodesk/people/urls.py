from django.urls import path

from . import views

urlpatterns = [
    path("log-in/", views.log_in, name="log_in"),
    path("log-out/", views.log_out, name="log_out"),
    path("reading/", views.reading, name="reading"),
    path("you/contact/", views.contact, name="contact"),
    path("you/letters/", views.letters_wanted, name="letters_wanted"),
    path("password/forgotten/", views.password_forgotten, name="password_forgotten"),
    path("password/change/", views.password_change, name="password_change"),
    path("password/<str:who>/<str:token>/", views.password_set, name="password_set"),
    path("people/new/", views.person_new, name="person_new"),
    path("people/<str:number>/invite/", views.person_invite, name="person_invite"),
    path("memberships/", views.memberships, name="memberships"),
    path("memberships/new/", views.plan_new, name="plan_new"),
    path("memberships/<str:code>/use/", views.plan_in_use, name="plan_in_use"),
    path("tablets/", views.tablets, name="tablets"),
    path("tablets/<int:pk>/code/", views.tablet_code, name="tablet_code"),
    path("tablets/<int:pk>/revoke/", views.tablet_revoke, name="tablet_revoke"),
    path("keys/", views.keys, name="keys"),
    path("keys/new/", views.key_new, name="key_new"),
    path("keys/<str:code>/", views.key, name="key"),
    path("tablet/enrol/", views.tablet_enrol, name="tablet_enrol"),
]
