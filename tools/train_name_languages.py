"""Train the table that tells from its letters what language a name looks like.

    python tools/train_name_languages.py --out drillgen/data/name_languages.npz

Learns from the given names and surnames of the package Faker (MIT licence; install it for
this tool), those in other scripts romanised; from syllables put together by the rules of pinyin
and of Vietnamese spelling; from names put together of parts (name_parts.tsv); from Welsh, Hebrew,
Persian, Maori, Hawaiian, Malay, Filipino, Samoan, Tongan, Somali and Ethiopian names and our table
of names, from memory; and for English also from common words. A softmax regression over pieces
of 1 to 4 letters; what is kept are its weights, no names. A tenth of the names, by a hash, is left
out and measured: the weight decay is that with the best likelihood on them.
"""

# ruff: noqa: SIM905, E501

from __future__ import annotations

import argparse
import hashlib
import importlib
import random
import unicodedata
from collections import Counter
from pathlib import Path
from typing import Any, Final

import numpy as np

from drillgen.core.resources import load_frequencies, read_table
from drillgen.speech.pronounce.letter_rules import LANGUAGES
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.names import ENGLISH, list_pieces

DATA: Final = Path(__file__).parents[1] / "tests" / "pronounce" / "data"
PARTS: Final = Path(__file__).parent / "name_parts.tsv"
LOCALES: Final = {
    "en": "en_US en_GB en_IE en_NZ",
    "ga": "ga_IE",
    "es": "es_ES es_MX es_CO es_AR es_CL",
    "pt": "pt_BR pt_PT",
    "fr": "fr_FR fr_CA fr_BE",
    "de": "de_DE de_AT",
    "pl": "pl_PL",
    "cs": "cs_CZ sk_SK",
    "it": "it_IT",
    "zh": "zh_CN",
    "vi": "vi_VN",
    "yo": "yo_NG",
    "ig": "ig_NG",
    "ak": "tw_GH",
    "sw": "sw en_KE",
    "zu": "zu_ZA",
    "ar": "fr_DZ en_PK",
    "hi": "en_IN hi_IN mr_IN gu_IN ne_NP bn_BD or_IN ta_IN",
    "ja": "ja_JP",
    "ko": "ko_KR",
    "tr": "tr_TR",
    "az": "az_AZ",
    "lt": "lt_LT lv_LV",
    "sv": "sv_SE da_DK no_NO is_IS",
    "nl": "nl_NL",
    "hu": "hu_HU",
    "fi": "fi_FI et_EE",
    "ro": "ro_RO",
    "hr": "hr_HR sl_SI",
    "ru": "ru_RU uk_UA bg_BG",
    "el": "el_GR",
    "id": "id_ID",
    "ka": "ka_GE",
    "hy": "hy_AM",
}
WELSH: Final = """
Aled Alun Alwyn Aneirin Angharad Arianwen Arwel Arwyn Bedwyr Berwyn Bethan Bleddyn Branwen Bronwen
Bryn Brynmor Cadfael Cadwaladr Caradog Carwyn Carys Catrin Ceinwen Ceri Ceridwen Cerys Collwyn
Cynan Cynddylan Dafydd Deiniol Delyth Derwen Dewi Dilwyn Dilys Drystan Dwynwen Dyfan Dyfed Dyfrig
Ednyfed Efa Eifion Eilir Einir Einion Eira Eirian Eirlys Eirwen Elen Eleri Elfed Elin Eluned Elwyn
Emlyn Emrys Enfys Esyllt Eurwen Euryn Ffion Fflur Ffraid Gareth Garmon Geraint Gerallt Gethin
Glenys Glyndwr Goronwy Gruffudd Gruffydd Gruffudd Guto Gwawr Gwen Gwenda Gwenllian Gwenno Gwenyth
Gwilym Gwladys Gwyn Gwyndaf Gwyneth Gwynfor Haf Hafwen Heddwyn Hefin Heledd Heulwen Huw Hywel Iago
Idris Idwal Iestyn Ieuan Ifan Ifor Illtyd Ioan Iolo Iorwerth Islwyn Iwan Llewelyn Llinos Llio Lleu
Lleucu Llyr Llywarch Llywelyn Lowri Luned Madog Mair Maldwyn Manon Maredudd Marged Mared Medwyn
Meilir Meinir Meirion Meleri Menna Mererid Meredydd Merfyn Mihangel Morfudd Morgan Morwen Myfanwy
Myrddin Nerys Nest Nia Olwen Osian Owain Peredur Penarddun Rhain Rhian Rhiannon Rhianwen Rhisiart
Rhodri Rhonwen Rhun Rhydderch Rhydian Rhys Sian Siân Siôn Sioned Siwan Talfryn Taliesin Tegan Tegid
Tegwen Teilo Tirion Trefor Tudur Tudwal Urien Wyn Wynfor Ynyr Ystwyth Aberystwyth Llandudno
Llanelli Caernarfon Pwllheli Dolgellau Machynlleth Blaenau Ffestiniog Eryri Ceredigion Gwynedd Powys
Llangollen Ynysybwl Cwmbran Penarth Rhondda Rhymni Tywyn Betws Llanrwst Bala Harlech Bethesda
""".split()
MORE: Final = {
    "en": """
Absecon Acushnet Adirondack Agawam Allegheny Altamaha Ammonoosuc Androscoggin Apalachicola Arapahoe Aroostook
Ashuelot Assiniboia Assiniboine Athabasca Attala Attica Aucilla Boggabri Boonah Bundanoon Cahokia Caloosahatchee
Canajoharie Canarsie Catahoula Catawba Cattaraugus Cayuga Chappaqua Chattahoochee Chattooga Chautauqua Cheboygan
Chehalis Chenango Cherokee Chesapeake Chicopee Chillicothe Chippewa Choctawhatchee Cochituate Cohasset Cohoes
Conestoga Conewango Congaree Connecticut Cooloola Coonamble Coosa Cootamundra Coweta Cowichan Currumbin Cuyahoga
Dowagiac Ebensburg Ecorse Escambia Esopus Etowah Gowanus Hackensack Hatteras Hauppauge Hiawassee Hoosick Housatonic
Illawarra Ishpeming Itasca Kalkaska Kankakee Katoomba Kenosha Kennebec Keokuk Keweenaw Kewaunee Kickapoo Kootenai
Lackawanna Lycoming Mahoning Mahwah Mamaroneck Manasquan Manistee Manitowoc Mashantucket Mashpee Massapequa Matawan
Mattapan Maumee Menominee Merrimack Metuchen Minnehaha Minnetonka Mishawaka Missaukee Mohegan Monadnock Monongahela
Muskegon Muskogee Nanticoke Narrabri Narragansett Natchitoches Naugatuck Neosho Neponset Netarts Nisqually Nooksack
Ocmulgee Oconee Ogallala Ogeechee Okefenokee Okanagan Okoboji Olamon Onondaga Ontonagon Opelika Orono Ossining
Oswego Otsego Ottumwa Owego Ozaukee Paramus Pascagoula Pasquotank Passamaquoddy Patchogue Patuxent Paugussett
Pawtucket Pemigewasset Pensacola Pequannock Pequot Perquimans Piscataqua Pocahontas Pocomoke Pokagon Ponkapoag
Pottawatomie Poughkeepsie Quinnipiac Quinebaug Quonset Rahway Rancocas Raritan Roanoke Ronkonkoma Sagamore Sakonnet
Saluda Sammamish Sandusky Saranac Saskatchewan Satilla Saugatuck Schoharie Sebago Sewickley Shenandoah Sheboygan
Shinnecock Skagit Skokomish Snohomish Spokane Stillaguamish Swannanoa Syosset Taconic Tallapoosa Tamaqua Tammany
Teaneck Tecumseh Tehama Temagami Ticonderoga Tippecanoe Titicus Tobyhanna Tonawanda Toowoomba Tuckahoe Tulpehocken
Tumwater Tunkhannock Tuscaloosa Tuscarawas Unadilla Uncasville Wabash Waccamaw Wachusett Wallkill Wamego Wantagh
Wapakoneta Wappinger Washtenaw Waukegan Wauwatosa Waxhaw Weehawken Wetumpka Willamette Winnebago Winnipeg
Withlacoochee Woolgoolga Wyandotte Wynantskill Yackandandah Yamhill Yarrawonga Yazoo Yonkers
""",
    "mi": """
Ahorangi Ahurewa Aperahama Arapeta Arama Arohanui Atarangi Awhina Haami Haeata Haimona Hakopa Hamuera
Hariata Harata Haunui Hauraki Hautapu Heeni Henare Heremaia Herewini Hikurangi Hinerangi Hineteiwaiwa
Hirini Hiwi Hohaia Hona Horomona Hotene Huhana Huia Huriana Ihaia Irihapeti Irirangi Kahutaiki Kaiora
Karaka Karanga Karauna Kataraina Kauri Kereama Kerei Kereopa Kereru Keriana Kingi Kohai Kohatu Koromiko
Kowhai Kuini Kupe Kuramarotini Mahina Mahuika Maioha Makareta Makuini Manaaki Manawa Manu Maraea Marino
Mataira Matariki Matenga Matewai Maui Merania Mereana Merepeka Miriama Moengaroa Moetu Mohi Ngahuia
Ngairo Ngapaki Ngarewa Ngaropi Nepia Paora Parekura Pareraututu Patariki Pene Pererika Petera Pikiora
Pita Pohutukawa Potaka Puawai Puhi Rangimarie Rangimoana Ranginui Raukawa Rauru Reihana Rewi Ripeka
Rongo Rongomai Rongowhakaata Ropata Ruatapu Taane Tahu Taiaroa Taika Tainui Takoto Tamanui Tamaiti
Tangiwai Taniora Tanirau Taonga Tapsell Taraia Tariana Taumata Tauranga Tawera Tawhai Tawhiri Tawhirimatea
Temuera Teone Tiaho Tiare Tihema Tiwai Tohu Tuhoro Turei Tuterangi Waimarie Waimarama Wairere Waitangi
Waata Whaitiri Wharekura Whatarangi Whina Whitiora Wikitoria Wirihana
""",
    "haw": """
Ahonui Aikane Akamu Akela Alakaʻi Alaula Alamea Alika Aliʻi Aloha Anela Anuhea Aolani Aukai Aulani Ekewaka
Elikapeka Haukea Haunani Heʻenalu Hiʻilani Hiʻilawe Hiʻiaka Hokulani Hokulea Hoku Hualani Iakopa Ikena
Iokua Iwalani Kaʻahumanu Kaʻiulani Kahale Kahananui Kahanu Kahea Kahele Kahiau Kahikina Kahiko Kahili
Kaholo Kahoku Kaholokula Kahue Kaiahi Kaikane Kainalu Kaimi Kaipo Kaiwi Kaʻuhane Kalaheo Kalakaua Kalama
Kalani Kalaniana Kalanikaulaleo Kaleo Kaleohano Kalikolehua Kaliko Kalua Kaluhiokalani Kamaile Kamaka
Kamalei Kamalani Kamaluhia Kamealoha Kanani Kanahele Kaneakua Kaneshiro Kanekoa Kanani Kanoelani Kapena
Kapiolani Kapono Kapule Kauanoe Kauhane Kauikeaouli Kaui Kaula Kaulana Kaulike Kaumualiʻi Kaunaloa
Kauwela Kawai Kawailani Kawaipuna Kawehi Kawika Kaʻena Keahiahi Keaka Keakealani Kealaiki Kealii
Kealamakia Keanu Keani Keaweaheulu Keikilani Kekauluohi Kekoanui Kekuʻiapoiwa Kelekolio Keliʻi Keliihoomalu
Keola Keone Keoni Keopuolani Kiele Kila Kilakila Kimo Koa Koamalu Kohala Kuakini Kuulei Laka Lahela
Lanakila Lani Lanikai Laniakea Lahaina Lehua Lehualani Leialoha Leimomi Leinaʻala Likelike Lilinoe Loa
Lokelani Luana Lunalilo Mahealani Mahoe Mahiʻai Maile Makaio Makanani Makani Malakai Malana Malulani Mana
Manaolana Manoa Maui Mauloa Mele Melia Mikala Mililani Moana Moani Moke Momilani Nahele Naʻauao Nahenahe
Naiʻa Nākoa Nalu Nani Noʻeau Noelani Nohea Nohelani Okalani Oliana Olina Palakiko Palila Pānioloʻ Pele
Peleke Pikake Pilialoha Pohai Pomaikaʻi Puaʻala Pualani Puanani Ulani Uluwehi Uʻilani Wahine Waiʻalae
Waialua Waikiki Wailani Wainani Walea Wehilani
""",
    "he": """
Abigail Achinoam Adva Ahuva Akiva Aliza Almog Alon Alona Amichai Aminadav Amir Amit Amnon Anat Arbel Ariel
Ariella Asaf Asher Ashira Assaf Atara Avi Aviad Avichai Avigail Avigdor Avihu Aviram Avishag Avishai Aviv
Aviva Avner Avraham Avrum Ayala Azriel Barak Baruch Batsheva Batya Bentzion Benyamin Betzalel Bina Boaz
Bracha Carmel Carmit Chagai Chaggit Chanan Chanoch Chava Chaviva Chedva Chen Dafna Dalia Danit Doron Dorit
Dror Drora Dvir Dvora Efraim Efrat Ehud Eilat Einat Einav Eldad Elad Elazar Elchanan Eliana Eliyahu Elkana
Elyakim Elyashiv Emunah Erez Ester Etti Evyatar Eyal Ezra Gavriel Gedalia Geula Gidon Gideon Gila Gilad Gili
Golan Goldie Hadar Hadas Hagar Hagit Haggai Hallel Hanan Hanoch Hava Herzl Hila Hillel Hodaya Idan Iddo
Idit Ido Ilan Inbal Inbar Iris Irit Itamar Itzik Kalanit Keren Kinneret Lavi Leah Leora Levana Lihi Lilach
Limor Liron Livnat Maayan Malka Matan Matityahu Mattan Meir Meirav Menashe Menucha Merav Michal Mira Miri
Mordechai Moriah Moshe Nachman Nachum Nadav Naftali Nechama Nehama Ner Netanel Netta Nili Nimrod Nir Nira
Nisan Nissim Nitza Nitzan Niv Noga Nuriel Nurit Oded Ofer Ofir Ofira Ofra Omer Ophira Orit Orly Orna Osnat
Oz Paz Penina Pesach Pinchas Raanan Rachel Rafi Ran Raphael Raz Reuven Rina Roee Roni Ronit Rotem Ruchama
Sagi Sagit Sara Sarit Shabtai Shachar Shai Shaked Shalev Shalom Shani Sharona Shaul Shay Sheindel Shifra
Shilo Shimon Shiri Shirit Shmuel Shoshana Shula Shulamit Sigal Sivan Smadar Tal Tali Tamir Tehila Tirza Tova
Tzachi Tzadok Tzila Tzion Tzipi Tzivia Tzofia Tzuriel Tzvi Uri Uriel Uzi Vered Yaakov Yaara Yadin Yaffa Yair
Yakir Yarden Yaron Yechiel Yedidya Yehoshua Yehudit Yeshayahu Yiftach Yisrael Yishai Yitzchak Yoav Yochanan
Yochai Yochi Yoel Yogev Yonah Yonatan Yoram Yossi Yotam Yuval Zahava Zalman Zeev Zehava Zevulun Ziv Ziva
Zohar Zvi Abramovich Aharoni Almagor Alterman Amsalem Avraham Azulai Barak Barzilai Begin Biton Buzaglo
Dayan Elbaz Friedman Gantz Golan Hadad Halevi Herzog Lapid Liberman Malka Mizrahi Netanyahu Olmert Oz Peres
Peretz Rabin Shaked Shamir Sharon Sharett Tzadik Yadin Yehoshua Zamir
""",
    "fa": """
Abbas Abdollah Afshin Afsaneh Afsoon Ahmadinejad Ahmadi Akbari Alborz Alireza Amin Amirali Amirhossein
Anahita Anoush Anoosheh Arash Ardalan Ardeshir Arezoo Arghavan Aria Armin Arsalan Aryan Aryana Asghar
Atefeh Atousa Ava Azadeh Azar Azin Babak Bahador Baharak Bahareh Bahman Bahram Banafsheh Banu Bardia
Behnam Behnaz Behnoush Behrang Behzad Bijan Bita Bozorg Cyrus Darab Dariush Daryoush Delara Delbar
Delaram Donya Ebrahim Ebrahimi Elaheh Elham Elnaz Elmira Erfan Esfandiar Esmail Esfahani Fakhri Faramarz
Faranak Fardin Farhad Farhadi Farhang Fariba Fariborz Farideh Farjad Farnaz Farnoosh Faroughi Farrokh
Farshad Farshid Farzad Farzin Fatemeh Fereshteh Fereydoun Ferdows Firouz Firouzeh Forouzan Forough
Foroughi Ghasem Ghasemi Ghazaleh Gholam Gholami Giti Golnar Golnaz Golriz Golshan Golshifteh Goli Hadi
Haleh Hamed Hamid Hamidreza Hasti Heshmat Homa Homayoun Hooman Hormoz Hoshang Houshang Iraj Jafar Jafari
Jahan Jahangir Jaleh Jalil Jamshid Javad Javadi Kambiz Kamran Karim Katayoun Kazem Keyvan Keyhan Khamenei
Khashayar Khatami Khorram Khosrow Kian Kiana Kiarash Kiarostami Kimia Kiumars Kourosh Ladan Laleh Leila
Maedeh Mahboubeh Mahdi Mahin Mahmoud Mahnoush Mahtab Mahvash Mahyar Majid Makhmalbaf Malakeh Mandana Mani
Manijeh Manouchehr Mansoureh Marjan Maryam Maziar Masoud Masoumeh Massoud Mehdi Mehran Mehrdad Mehrnaz
Mehrnoosh Mehri Mehrzad Milad Mina Minoo Mitra Mohsen Mojtaba Mona Monir Morteza Mortazavi Mossadegh
Mostafa Nader Naderi Naghmeh Nahal Nahid Namdar Narges Nariman Nasim Nasser Nastaran Nazanin Nazila Nika
Niki Niloofar Nooshin Noushin Omid Omidvar Parastoo Parham Pari Parinaz Parsa Parvaneh Parvin Parviz
Payam Payman Pedram Pegah Pejman Pezeshkian Peyman Pooneh Pooya Poupak Pouria Pouya Rahim Raisi Ramin
Rasoul Rastegar Rezaei Romina Rouhani Roya Rostam Roxana Rouzbeh Saba Sadegh Sadeghi Saeed Saeideh
Sahand Salar Salehi Saman Samaneh Samira Sanaz Sara Sassan Sattareh Setareh Shadi Shaghayegh Shahin
Shahla Shahnaz Shahram Shahriar Shahrokh Shahrzad Shahab Shahpour Shapour Shayan Sheyda Shideh Shohreh
Siamak Siavash Simin Sina Soheil Soheila Sohrab Solmaz Soraya Souri Soroush Sorena Taraneh Tabatabai
Tahereh Tahmineh Tala Tannaz Tina Touraj Vahid Vahideh Vida Yalda Yasaman Yashar Zahedi Zahra Zand Zarin
Zarrin Zhaleh Zohreh Zoya
""",
    "id": """
Abdullah Adiputra Agung Aminah Anwar Ariffin Arief Asmara Azlan Azizah Bagus Bayu Budiman Budiono Cahaya
Cahyadi Cahyono Chandra Damayanti Darmawan Daud Dewantara Dharma Djarot Djuanda Eka Endang Fatimah Febriansyah
Fitri Fitriani Gunawan Hadiningrat Hamzah Handayani Harahap Harjono Hartono Hasanuddin Hatta Hendrawan Herlambang
Hidayat Hutapea Ibrahim Indah Indra Irawan Iskandar Ismail Jamilah Jaya Joko Jusuf Kartika Kartini Kartosuwiryo
Khairul Kurniawan Kusuma Kusumawati Lestari Mahathir Maharani Mahmud Marwan Megawati Melati Mulyadi Mulyani
Mustafa Nasution Ningrum Ningsih Novianti Nugraha Nugroho Pertiwi Pramoedya Pranata Prasetya Prasetyo Pratama
Pratiwi Purnama Purnomo Purwanto Puspita Putra Putri Rahardjo Rahayu Rahmawati Ramli Ratna Razak Rizki
Rosmah Rukmana Sari Saputra Sasmita Setiawan Shahrizal Siregar Siti Situmorang Soedirman Soeharto Soekarno
Soetomo Subandrio Sudarsono Sudirman Sugiarto Suharto Suhartono Sukarnoputri Sukma Sulaiman Suparman Supriyadi
Surya Suryadi Suryono Susanti Susilo Sutanto Sutrisno Suwarno Syahrini Syafruddin Syarif Tjahjono Triyono
Utami Utomo Wahid Wahyu Wibowo Wibisono Widjaja Widodo Wijaya Wiranto Wirawan Wulandari Yuliana Yulianto
Yusof Zainal Zulkifli
""",
    "tl": """
Abad Abadilla Abalos Abaya Abueva Abugan Agbayani Agoncillo Aguinaldo Alapag Alingasa Amihan Amorsolo Andaya
Aquino Arellano Arevalo Atienza Bacani Bagatsing Balagtas Balingit Baluyot Banaag Bantugan Batungbakal Bathala
Bautista Bayan Bituin Bonifacio Bukid Bulaklak Bulanadi Bunyi Cabangbang Cabiling Cabrera Cacho Calungsod
Capulong Catacutan Catapang Cayabyab Cojuangco Dagohoy Dalagang Dalisaymo Dayanghirang Dela Diwata Dimaano
Dimaandal Dimaguiba Dimalanta Dimapilis Dimasalang Dimatulac Dimayuga Dumlao Gatbonton Gatdula Gatmaitan Guinto
Gumabao Halili Hizon Ilagan Imperial Isko Jhunmar Jhoanna Kalaw Kalayaan Katigbak Kidlat Laban Lacson Lakandula
Lakambini Laurel Liwanag Liwayway Lualhati Lumibao Luningning Maasim Mabini Macapagal Macatangay Madlangbayan
Magbanua Magdangal Magkaisa Maglaya Magpantay Magsino Magtanggol Makisig Malakas Malaya Malonzo Manalastas
Manalo Manansala Mangahas Manlapig Mapagmahal Maramba Marikit Matapang Mayumi Mendiola Nakpil Ocampo Pacquiao
Palanca Panganiban Pangilinan Panlilio Paras Pascual Punongbayan Punzalan Quiambao Quisumbing Recto Rizalino
Romulo Roxas Salonga Sampaguita Sarmiento Silang Simbulan Sinag Sumulong Tadhana Talavera Tala Tatlonghari
Tolentino Tumulak Tupas Tuazon Umali Urduja Velasquez Yabut Yumul Ylagan Zamora
""",
    "so": """
Aadan Aamina Abdalla Abdi Abdifatah Abdikadir Abdikarim Abdinasir Abdirashid Abdirizak Abdisalam Abdiwali
Abdulahi Abshir Abukar Absame Adan Aden Ahmed Aisho Amran Anab Anisa Aragsan Asad Asha Awale Axmed Ayan
Bashir Barre Barni Bile Bilan Biixi Bishaaro Boqor Burhan Caasha Cabdiraxmaan Cabdullahi Cali Caasho Cumar
Cusmaan Dahabo Dahir Deeqa Deqa Dhegdheer Dirir Diriye Duale Ebla Egal Elmi Fadumo Farah Farhiya Farxiya
Fartuun Fartun Fawzia Faysal Fowsiyo Galaal Galayr Garaad Gedi Geedi Gelle Ghedi Guleed Habiba Hadiyo Halima
Halimo Hanad Haweeyo Hassan Hawa Hersi Hibaaq Hibaq Hibo Hodo Hussein Idil Idris Igal Ikraan Ilhan Iman Ismahan
Jaamac Jama Jamac Jibril Jimcaale Kadija Kaltuun Khadijo Khadra Korane Ladan Liban Liibaan Luul Mahad Mahamed
Mahamud Maxamuud Mire Mohamud Mumin Muna Mursal Muuse Nasteho Nimco Nimo Nuur Omar Osman Qaasim Qamar
Raage Rahma Roble Rooble Saado Saafi Safiya Sagal Sahra Samatar Samawada Saynab Shamso Sharmaarke Shermarke Shire
Siad Siciid Sucaad Suleekha Suubban Ubah Ugaas Waaberi Warsan Xaawo Xaliimo Xalimo Xasan Xirsi Xuseen Yasin
Yusuf Yuusuf Zahra Zaynab
""",
    "am": """
Aaron Abadir Abaynesh Abdissa Abebe Abeba Abel Aberash Abera Abiy Abraha Abreha Addis Adanech Adey Afewerk
Ahadu Alemayehu Alemitu Alemnesh Alemtsehay Almaz Amare Amsale Anteneh Araya Asfaw Asnakech Aster Atnafu Ayele
Ayelech Azeb Azmera Bahru Balcha Bayissa Bekele Belay Belaynesh Beletech Berhane Berhanu Beyene Beza Birhan
Birtukan Biruk Bisrat Bogale Bruktawit Chala Dagmawi Daniachew Dawit Debebe Debretsion Demeke Demissie Derartu
Desalegn Desta Dibaba Eden Ejigu Elfinesh Endalkachew Ephrem Ermias Eskinder Eyerusalem Fantu Fekadu Fikirte Fikre
Fikru Firehiwot Fisseha Gebre Gebregziabher Gebremariam Gebreselassie Gebrselassie Genet Genzebe Girma Girmay
Gizachew Habtamu Hagos Haftom Hailemariam Hailu Hiwot Hirut Imru Isayas Iyasu Kassa Kassahun Kebede Kenenisa
Kibrom Kidane Kidist Lealem Lemlem Letesenbet Liya Lulit Makonnen Mamo Marta Mekdes Mekonnen Melaku Meles
Menelik Mengistu Menen Merga Meron Mesfin Mihret Mikael Mitiku Mulatu Mulu Mulualem Muluwork Negash Negussie
Rahel Robel Roman Ruth Saba Samrawit Sebhat Selam Selassie Senait Seyoum Shiferaw Shimelis Sintayehu Sisay
Solyana Tadesse Taddese Tafari Taitu Tamirat Tariku Tekle Teklehaimanot Tenagne Tesfaye Tesfa Teshome Tewolde
Theodros Tigist Tilahun Tirunesh Tizita Tsegaye Tsige Tsion Werknesh Woinshet Wolde Woldemariam Workneh
Worku Wubit Yared Yemane Yetnebersh Yekuno Yodit Yonas Zara Zelalem Zenebe Zenebech Zerihun Zewde Zewdie Zewditu
""",
    "sm": """
Afoa Aiono Alaifatu Alofa Amituanai Amosa Aperila Asiata Atoa Aumua Auvaʻa Efi Eteuati Faʻanana Faʻanānā Faamausili
Faasavalu Fagafaga Fagaloa Faimafili Falaniko Falaula Faleafa Falefa Fatialofa Faumuina Feagai Fiame Fetu Filemoni
Filipo Fonoti Fuimaono Galuvao Ieremia Iosefa Ioane Iulia Kalepo Kapeliele Laauli Lafaele Laulu Lauaki Lealaiauloto
Leaupepe Leavai Leilua Leota Leiataua Lologa Lotu Luamanuvao Lutu Maiava Malaefou Malolo Malietau Manaia Manu Masina
Mataafa Mataʻafa Matagi Mataio Matau Misipati Moana Molioʻo Muliaga Nafanua Nanai Niko Nuʻu Oloapu Palelei Paulo
Pelenise Penitoa Peseta Petaia Pisa Pouono Pulotu Pouesi Salamasina Salafai Saleaula Samasoni Savea Savelio Seiuli
Semisi Siaosi Simanu Sina Sinapati Sinalei Siaki Soifua Solialofi Solofa Suaalii Taeao Tafuna Tagata Talalelei Talia
Tamasese Tanielu Taufa Tauiliili Tautua Tavita Tiatia Toetu Toleafoa Tofa Tofilau Toʻomata Tuala Tuiasosopo
Tuigamala Tuimavave Tuisugaletaua Tupua Tupuola Tusiata Ula Umaga Uiagalelei Vaea Vaega Vaifale Vaimauga Valasi
Vavae Veʻa Amanaki Anaseini Elenoa Faʻasisila Fatafehi Fangupo Finau Folau Fonua Halaevalu Havea Heimuli Helu Hoponoa
Kalaniuvalu Katoa Kauhenga Kaufusi Langi Lātūkefu Lavaka Lavemaai Likutau Lopeti Lupe Mafi Mahe Maʻafu Malakai Mele
Moala Moimoi Naulu Ngata Ngauamo Niumeitolu Paea Pahulu Palu Paongo Piutau Pohiva Salote Sālote Sefanaia Semi Seini
Siosaia Siosiua Siaosi Sunia Takai Talanoa Tangi Tangitau Taufaʻahau Taumalolo Taumoepeau Taukeiaho Tevita Tonga
Tuʻipelehake Tuʻivakano Tungi Tupou Uata Ulukalala Unga Vaipulu Vake Vea Veikune Viliami Vunipola
""",
    "hi": """
Abeysekera Amarasinghe Arumugam Athapaththu Balasubramaniam Bandaranaike Bhattacharjee Chakraborty Chandrasekaran
Chattopadhyay Chidambaram Deivanayagam Dharmasena Duraisamy Ekanayake Fernandopulle Gangopadhyay Ganesan Gnanasekaran
Gunasekara Gunawardena Herath Ilangovan Jayasuriya Jayatilleka Kandasamy Karthikeyan Karunaratne Krishnamurthy
Kulasekara Kumarasinghe Kumaraswamy Liyanage Mahadevan Manoharan Mathivanan Meenakshi Muralitharan Muthukumar
Nadarajah Nagarajan Narayanan Natarajan Palanisamy Parthiban Perumal Ponnusamy Premadasa Rajagopalan Rajapaksa
Ramachandran Ramanathan Ranasinghe Ranatunga Ratnayake Saravanan Selvaraj Senanayake Senthamarai Shanmugam
Sivakumar Soundararajan Subramanian Sundaram Tharanga Thirumalai Thiruvengadam Udayakumar Vaidyanathan Velmurugan
Venkataraman Vijayakumar Viswanathan Weerasinghe Wijesinghe Wijewardena Yogarajah Banerjee Biswas Chatterjee
Dasgupta Debnath Ghoshal Majumdar Mitra Mukherjee Sarkar Sengupta Adhikari Gurung Koirala Shrestha Thapa Tamang
""",
}
"""Names of languages that Faker lacks or has in another script, from memory."""

KINDS: Final = dict(
    pair.split(":")
    for pair in """English:en Irish:ga Spanish:es French:fr Indian:hi Polish:pl Welsh:cy Italian:it
    Vietnamese:vi Japanese:ja German:de Nordic:sv Chinese:zh pinyin:zh Arabic:ar Scottish:ga
    Korean:ko Greek:el Igbo:ig Yoruba:yo Russian:ru Turkish:tr Portuguese:pt Brazilian:pt
    Hungarian:hu Romanian:ro Czech:cs Dutch:nl Akan:ak Hindi:hi Zulu:zu Hebrew:he Maori:mi Hawaiian:haw Persian:fa Finnish:fi
    Indonesian:id Filipino:tl Somali:so Ethiopian:am Samoan:sm""".split()
)
"""Languages of our own table of names, by the first word of the remark."""

_RUSSIAN: Final = (
    "а a б b в v г g д d е e ё yo ж zh з z и i й y к k л l м m н n о o п p р r с s т t у u ф f"
    " х kh ц ts ч ch ш sh щ shch ы y э e ю yu я ya"
)
SCRIPTS: Final = {
    locale: dict(zip(row.split()[::2], row.split()[1::2], strict=True))
    for locale, row in {
        "el_GR": "α a β v γ g δ d ε e ζ z η i θ th ι i κ k λ l μ m ν n ξ x ο o π p ρ r σ s τ t υ y"
        " φ f χ ch ψ ps ω o ς s",
        "ru_RU": _RUSSIAN,
        "uk_UA": f"{_RUSSIAN} г h ґ g и y і i є ye ї yi",
        "bg_BG": f"{_RUSSIAN} х h ъ a щ sht",
        "ka_GE": "ა a ბ b გ g დ d ე e ვ v ზ z თ t ი i კ k ლ l მ m ნ n ო o პ p ჟ zh რ r ს s ტ t უ u"
        " ფ p ქ k ღ gh ყ q შ sh ჩ ch ც ts ძ dz წ ts ჭ ch ხ kh ჯ j ჰ h",
        "hy_AM": "ա a բ b գ g դ d ե e զ z է e ը y թ t ժ zh ի i լ l խ kh ծ ts կ k հ h ձ dz ղ gh"
        " ճ ch մ m յ y ն n շ sh ո o չ ch պ p ջ j ռ r ս s վ v տ t ր r ց ts փ p ք k օ o ֆ f և ev",
    }.items()
}
"""Letters of other scripts as they are romanised."""

_INDIC: Final = dict(
    pair.split(":")
    for pair in """AA:a II:ee UU:oo EE:e OO:o TT:t TTH:th DD:d DDH:dh NN:n NNN:n NY:n NG:n C:ch CH:ch
    SS:sh LL:l LLL:zh RR:r YY:y RRR:r DDDH:rh""".split()
)
"""Names of letters in Unicode that are spelled otherwise in names of people."""

_INITIALS: Final = "b p m f d t n l g k h j q x zh ch sh r z c s y w".split()
_FINALS: Final = "a ai ao an ang e ei en eng i ia ie iao iu ian in iang ing iong o ou ong u ua uo uai ui uan un uang ue".split()
_ONSETS: Final = "b c ch d đ g gi h kh l m n ng nh ph qu r s t th tr v x".split()
_RIMES: Final = "a ai am an ang anh ao au ăm ăn ăng âm ân âng âu ay ây em en eo ê ên ênh i ia iêm iên iêu im in inh iêt o oa oan oai oi om on ong ô ôi ôn ông ơ ơi ơn u ua uân ung uôc uôn uy uyên uyêt ư ưng ươi ươm ương ươc y yên".split()


def draw(text: str) -> float:
    """A number from 0 to 1 that depends on the text only."""
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big") / 2.0**64


def _spell(name: str, locale: str) -> str:
    if locale == "ko_KR":
        return "".join(map(_romanize, name))
    if "LETTER" in (parts := unicodedata.name(name[0], "").split()) and parts[0] in _INDIC_SCRIPTS:
        return _romanize_indic(name)
    table = SCRIPTS.get(locale)
    if table is None:
        return name
    plain = unicodedata.normalize("NFD", name.lower())
    text = "".join(c for c in plain if c == "\u0306" or not unicodedata.combining(c))
    text = unicodedata.normalize("NFC", text)
    for letters, said in (("ου", "ou"), ("μπ", "b"), ("ντ", "nt"), ("ու", "u")):
        text = text.replace(letters, said)
    return "".join(table.get(c, "" if c in "ьъ" else c) for c in text)


_INDIC_SCRIPTS: Final = frozenset("DEVANAGARI BENGALI GUJARATI ORIYA TAMIL".split())


def _romanize_indic(name: str) -> str:
    """A name in a script of India: the letters by their names in Unicode, an a that no sign
    takes away after each consonant but the last."""
    said = ""
    for char in name:
        parts = unicodedata.name(char, "").split()
        sound = parts[-1] if parts else ""
        if "SIGN" in parts and "VOWEL" not in parts:
            said = said.removesuffix("*") if sound == "VIRAMA" else said
            said += "n" if sound in ("ANUSVARA", "CANDRABINDU") else ""
        elif "LETTER" in parts and sound.endswith("A") and sound not in ("A", "AA"):
            said += _INDIC.get(sound[:-1], sound[:-1].lower()) + "*"
        elif parts:
            vowel = "ri" if "VOCALIC" in parts else _INDIC.get(sound, sound.lower())
            said = said.removesuffix("*") + vowel
    return said.removesuffix("*").replace("*", "a")


def _romanize(syllable: str) -> str:
    """A Hangul syllable in the Revised Romanization."""
    number = ord(syllable) - 0xAC00
    if not 0 <= number < 11172:
        return ""
    first = "g kk n d tt r m b pp s ss  j jj ch k t p h".split(" ")
    middle = "a ae ya yae eo e yeo ye o wa wae oe yo u wo we wi yu eu ui i".split()
    last = " k k ks n nj n t l k m l l l p l m p p t t ng t t k t p t".split(" ")
    return first[number // 588] + middle[number // 28 % 21] + last[number % 28]


def gather(apart: set[str]) -> dict[str, list[str]]:
    """The names by language; those of our table that are not kept apart."""
    chance = random.Random(10)
    names: dict[str, list[str]] = {language: [] for language in (ENGLISH, *LANGUAGES)}
    for language, locales in LOCALES.items():
        for locale in locales.split():
            provider: Any = importlib.import_module(f"faker.providers.person.{locale}").Provider
            for field, values in vars(provider).items():
                wanted = field.startswith(("first_", "last_", "unisex_last", "middle_"))
                if (
                    not wanted
                    or "pairs" in field
                    or "kana" in field
                    or not isinstance(values, tuple | list | dict)
                ):
                    continue
                for value in values:
                    if isinstance(value, str):
                        names[language] += [
                            part for part in _spell(value, locale).split() if len(part) > 1
                        ]
    names["cy"] += WELSH
    for language, row in MORE.items():
        names[language] += row.split()
    for line in PARTS.read_text(encoding="utf-8").splitlines():
        language, firsts, lasts = line.split("\t") if line[0] != "#" else ("", "", "")
        pairs = [first + last for first in firsts.split() for last in lasts.split()]
        names[{"pa": "hi"}.get(language, language) or ENGLISH] += chance.sample(
            pairs, min(250, len(pairs))
        )
    for name, _, remark in read_table("name_readings.tsv"):
        language = KINDS.get(remark.partition(" ")[0], "")
        if language and "-" not in name:
            names[language].append(name)
    for initial in _INITIALS:
        for final in _FINALS:
            names["zh"].append(initial + final)
    syllables = list(names["zh"])
    names["zh"] += [chance.choice(syllables) + chance.choice(syllables) for _ in range(600)]
    names["vi"] += [chance.choice(_ONSETS) + rime for rime in _RIMES for _ in range(6)]
    words = [word for word, zipf in load_frequencies().items() if zipf >= 3.0]
    names[ENGLISH] += chance.sample([word for word in words if word.isalpha()], 6000)
    # Kenya's names are English ones, too.
    known = Lexicon.load_raw()
    names["sw"] = [name for name in names["sw"] if name.lower() not in known]
    result = {}
    for language, some in names.items():
        kept = {n.lower() for n in some if all(c.isalpha() or c in "'’-ʻ" for c in n)}
        kept -= apart
        plain = {unicodedata.normalize("NFD", n).encode("ascii", "ignore").decode() for n in kept}
        result[language] = sorted(
            n for n in kept | plain if len(n) > 1 and not any(ord(c) > 0x1EFF for c in n)
        )
    return result


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--least", type=int, default=6, help="how often a piece must occur")
    parser.add_argument(
        "--apart",
        type=Path,
        nargs="*",
        default=[DATA / f"{name}.tsv" for name in ("names", "more_names", "client_names")],
    )
    options = parser.parse_args()

    from scipy.sparse import csr_matrix

    lines = (line for path in options.apart for line in path.read_text("utf-8").splitlines())
    names = gather({line.partition("\t")[0].lower() for line in lines})
    labels = list(names)
    rows = [(name, labels.index(lang)) for lang, some in names.items() for name in some]
    learn = [row for row in rows if draw(row[0]) >= 0.1]
    left = [row for row in rows if draw(row[0]) < 0.1]
    counts = Counter(piece for name, _ in learn for piece in set(list_pieces(name)))
    pieces = sorted(piece for piece, count in counts.items() if count >= options.least)
    index = {piece: i for i, piece in enumerate(pieces)}

    def encode(some: list[tuple[str, int]]) -> Any:
        place, column = [], []
        for i, (name, _) in enumerate(some):
            for piece in set(list_pieces(name)) & index.keys():
                place.append(i)
                column.append(index[piece])
        return csr_matrix((np.ones(len(place)), (place, column)), (len(some), len(pieces)))

    data, wanted = encode(learn), np.array([label for _, label in learn])
    sizes = np.bincount(wanted, minlength=len(labels))
    # Short lists count more than their length, long ones less.
    share = (sizes.mean() / sizes) ** 0.5
    weight = share[wanted] / len(learn)
    table, offset = np.zeros((len(pieces), len(labels))), np.zeros(len(labels))
    moments = [np.zeros_like(a) for a in (table, table, offset, offset)]
    for step in range(1, 201):
        score = data @ table + offset
        score -= score.max(axis=1, keepdims=True)
        chance = np.exp(score)
        chance /= chance.sum(axis=1, keepdims=True)
        chance[np.arange(len(learn)), wanted] -= 1
        chance *= weight[:, None]
        slopes = (data.T @ chance + 3e-5 * table, chance.sum(axis=0))
        for i, (value, slope) in enumerate(zip((table, offset), slopes, strict=True)):
            first, second = moments[2 * i], moments[2 * i + 1]
            first += 0.1 * (slope - first)
            second += 0.01 * (slope**2 - second)
            scale = 0.05 * (0.99**step + 0.02)
            value -= (
                scale * (first / (1 - 0.9**step)) / (np.sqrt(second / (1 - 0.99**step)) + 1e-9)
            )
    unit = float(np.abs(table).max() / 127)
    small = np.round(table / unit).astype(np.int8)
    score = encode(left) @ (small * unit) + offset
    right = score.argmax(axis=1) == np.array([label for _, label in left])
    for i, label in enumerate(labels):
        mine = np.array([own == i for _, own in left])
        print(f"{label} {mine.sum()} names left out, {right[mine].mean():.2f} recognised")
    print(f"all {right.mean():.3f}, {len(pieces)} pieces")
    np.savez_compressed(
        options.out,
        pieces=np.array("\n".join(pieces)),
        weights=small,
        unit=np.float32(unit),
        offset=offset.astype(np.float32),
        labels=np.array(" ".join(labels)),
    )


if __name__ == "__main__":
    main()
